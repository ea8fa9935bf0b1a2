"""Expectation: what every point should read, healthy and under each fault, and the verdict on what was read."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, final

from shouldread.circuit import Circuit, is_supply
from shouldread.diagnosis.band import Band
from shouldread.diagnosis.board import Board, Context
from shouldread.diagnosis.expected import Point, band_of, ready
from shouldread.diagnosis.judge import Judge
from shouldread.diagnosis.panel import Panels
from shouldread.diagnosis.variables import COLD
from shouldread.errors import ReadingError, RequestError
from shouldread.faults import Fault
from shouldread.meter import SETTINGS, Meter, Reading, leads, pads, read_readings
from shouldread.meter import meter as profile_of

if TYPE_CHECKING:
    import pandas

Key = str | tuple[str, str]


@final
class Expected:
    """What one point should read: ``healthy``, and ``under(fault)``."""

    def __init__(self, expectation: "Expectation", at: str, point: Point) -> None:
        self.at = at
        self.point = point
        self._expectation = expectation
        self._under: dict[tuple[str, ...], Band] = {}

    @cached_property
    def healthy(self) -> Band:
        """The band of a board with nothing wrong, by what its known parts give."""
        return band_of(self._expectation.known, self.point, [0], [1.0])

    def under_each(self, faults: Iterable[str]) -> Mapping[str, Band]:
        """The bands under many faults, by their names as given. Raises UnknownNameError as ``under`` does."""
        names = tuple(faults)
        panels, fault = self._expectation.whole, self._expectation.fault
        ready(panels, self.point, [panels.board.number_of(f) for name in names for f in fault(name)])
        return {name: self.under(name) for name in names}

    def under(self, fault: str | Fault) -> Band:
        """The band under a fault (or a pair), over how bad it may be unless its name says.

        Raises UnknownNameError for a fault that this circuit has not.
        """
        found = self._expectation.fault(fault)
        names = tuple(map(str, found))
        if names not in self._under:
            self._under[names] = self._worked_out(found)
        return self._under[names]

    def _worked_out(self, found: Sequence[Fault]) -> Band:
        panels = self._expectation.whole
        numbers = [panels.board.number_of(f) for f in found]
        total = sum(f.prior for f in found)
        weights = [f.prior / total if total > 0 else 1 / len(found) for f in found]
        return band_of(panels, self.point, numbers, weights)

    def __str__(self) -> str:
        return f"{self.at} should read {self.healthy.words}"


@final
class Expectation(Mapping[str, Expected]):
    """What a circuit should read in one state on one setting; by node, by supply for amps, by part for across.

    ``e["EN"].healthy``, ``e["EN"].under("L1 open")``; ``e["A to B"]`` or ``e["A", "B"]`` for any pair.
    """

    def __init__(self, circuit: Circuit, state: str, setting: str, profile: Meter) -> None:
        self.circuit = circuit
        self.state = state
        self.setting = setting
        self.meter = profile
        self.known = Panels(Board(circuit, profile, with_rest=False))
        self._made: dict[str, Expected] = {}
        self._named: dict[str, tuple[Fault, ...]] = {}

    @cached_property
    def whole(self) -> Panels:
        """The same with the unknown rest of the board, which every fault may show."""
        return Panels(Board(self.circuit, self.meter)) if self.known.board.has_rest else self.known

    @cached_property
    def judge(self) -> Judge:
        """Who says whether a reading is as it should be."""
        return Judge(self.known, self.whole)

    def fault(self, name: str | Fault) -> tuple[Fault, ...]:
        """The fault or faults that a name means on this circuit. Raises UnknownNameError."""
        if isinstance(name, Fault):
            return (name,)
        if name not in self._named:
            self._named[name] = self.circuit.fault(name)
        return self._named[name]

    def __getitem__(self, key: Key) -> Expected:
        at = key if isinstance(key, str) else " to ".join(key)
        if at not in self._made:
            self._made[at] = Expected(self, at, self._point(at))
        return self._made[at]

    def _point(self, at: str) -> Point:
        place, _, to = (piece.strip() for piece in at.partition(" to "))
        context = Context(self.state)
        if self.setting == "amps":
            return Point((self.circuit.part(place).name, ""), "amps", context)
        pair = pads(self.circuit, leads(self.circuit, place, to))
        return Point(pair, self.setting, context)

    def __iter__(self) -> Iterator[str]:
        if self.setting == "amps":
            return (name for name in self.circuit.parts if is_supply(self.circuit.part(name)))
        return (node for node in self.circuit.nodes if node != "0")

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def verdict(self, reading: str | Reading) -> str:
        """``as it should be``, ``too low``, ``too high`` or ``cannot tell``, for one reading as typed.

        Raises ReadingError for text that is not one reading.
        """
        if isinstance(reading, str):
            found = read_readings(reading, circuit=self.circuit, meter=self.meter, setting=self.setting)
            if len(found) != 1 or not isinstance(found[0], Reading):
                raise ReadingError(f"one reading is judged at a time, such as EN 0.02; not {reading!r}", value=reading)
            typed = found[0]
            if self.setting not in ("ohms", "diode") and "@" not in reading and typed.setting == self.setting:
                typed = Reading(
                    typed.place, typed.text, typed.setting, self.state, typed.to, typed.conditions, meter=self.meter
                )
            reading = typed
        return self.judge.verdict(reading)

    def frame(self) -> "pandas.DataFrame":
        """A table: at, low, typical, high (SI) and words, a row for each point."""
        import pandas

        bands = [(at, self[at].healthy) for at in self]
        return pandas.DataFrame(
            [(at, b.low, b.typical, b.high, b.words) for at, b in bands],
            columns=["at", "low", "typical", "high", "words"],
        )

    def __str__(self) -> str:
        wide = max([4, *(len(at) for at in self)])
        head = f"{self.circuit.title or self.circuit.name}: {self.setting} @{self.state.replace('_', ' ')}"
        return "\n".join([head, *(f"  {at:<{wide}}  {self[at].healthy.words}" for at in self)])

    def __repr__(self) -> str:
        return f"Expectation({self.circuit.name!r}, {self.setting} @{self.state})"


def expect(
    circuit: Circuit,
    *,
    state: str | None = None,
    setting: str = "volts",
    meter: Meter | str | None = None,
) -> Expectation:
    """What every point should read, healthy and under each fault, as the meter would show it.

    ``setting``: volts, ohms, diode, amps (what a supply delivers); ohms and diode mean cold. Bands are in SI units.
    Raises UnknownNameError for a state, setting or meter that is not there, RequestError for ohms on a fed state.

    >>> import shouldread as sr
    >>> e = sr.expect(sr.load_circuit("* divider\\nV1 IN 0 12\\nR1 IN MID 10k\\nR2 MID 0 10k\\n"))
    >>> e["MID"].healthy.short, e["MID"].under("R2 open").short
    ('5.997 V', '11.99 V')
    """
    return _expectation(circuit, state, setting, profile_of(meter))


def _expectation(circuit: Circuit, state: str | None, setting: str, profile: Meter) -> Expectation:
    profile.ranges(setting)
    cold = SETTINGS[setting].cold
    name = circuit.state(COLD if cold and state is None else state).name
    if cold and name != COLD:
        raise RequestError(f"{setting} are read with nothing fed: leave the state out or say {COLD}", value=state)
    if not cold and name == COLD:
        raise RequestError(f"in the state {COLD} nothing is fed: ask for ohms or diode", value=state)
    return Expectation(circuit, name, setting, profile)
