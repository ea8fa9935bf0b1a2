"""Stress: what every part bears, healthy and at worst, against its ratings."""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from shouldread.circuit import Circuit
from shouldread.diagnosis import borne
from shouldread.parts import Part
from shouldread.quantities import say, si_number
from shouldread.repair.corners import at_corners
from shouldread.repair.derating import rated_for
from shouldread.solve import Solution, solve

if TYPE_CHECKING:
    import pandas

FATAL = 10.0  # times its rating: the part dies, and readings under that fault are not to be trusted
RATED = ("volts", "amps", "watts")
UNITS: Mapping[str, str] = {"watts": "W", "volts": "V", "amps": "A"}
MOST_SAID = 12  # rows of a list in the text


@dataclass(frozen=True, slots=True)
class Load:
    """Volts across, amps into the first pin and watts in a part; ``_worst`` over states, tolerances and faults.

    ``under``: the fault and state of the most watts.
    """

    part: str
    volts: float
    amps: float
    watts: float
    volts_worst: float
    amps_worst: float
    watts_worst: float
    under: str
    rating: str
    verdict: str


@dataclass(frozen=True, slots=True)
class Damage:
    """A fault that overloads another part: ``times`` its rated ``what`` (watts, volts, amps), under ``fault`` in ``state``."""

    fault: str
    state: str
    part: str
    what: str
    times: float

    def __str__(self) -> str:
        where = self.state.replace("_", " ")
        return f"with {self.fault} {self.part} carries {self.times:.2g} x its rated {self.what} (state {where})"


@dataclass(frozen=True, slots=True)
class Stress:
    """The loads of all parts, in the order of the board.

    ``damage``: what one fault does to other parts, worst first. ``asked``: ratings that nobody stated, as a question
    each with the line to type; nothing is invented for them.
    """

    loads: tuple[Load, ...]
    damage: tuple[Damage, ...] = ()
    asked: tuple[str, ...] = ()

    def __getitem__(self, part: str) -> Load:
        return next(load for load in self.loads if load.part.casefold() == part.casefold())

    def frame(self) -> "pandas.DataFrame":
        """One row a part, SI floats."""
        import pandas as pd

        return pd.DataFrame([{f.name: getattr(load, f.name) for f in fields(Load)} for load in self.loads])

    def __str__(self) -> str:
        rows = ["part      watts        worst        under"]
        for load in self.loads:
            worst = f"{say(load.watts_worst, 'W', 3):<12}"
            rows.append(f"{load.part:<9} {say(load.watts, 'W', 3):<12} {worst} {load.under}: {load.verdict}")
        for title, told in (("secondary damage:", self.damage), ("ratings to be stated:", self.asked)):
            rows += [title, *(f"  {row}" for row in told[:MOST_SAID])] if told else []
            rows += [f"  and {len(told) - MOST_SAID} more"] if len(told) > MOST_SAID else []
        return "\n".join(rows)


@dataclass(frozen=True, slots=True)
class _Seen:
    """What a part bears in one state under one fault (or none)."""

    state: str
    fault: str
    borne: tuple[float, float, float]

    @property
    def name(self) -> str:
        return f"{self.fault} @{self.state}" if self.fault else self.state


def stress(circuit: Circuit, *, faults: Iterable[str] | None = None, tolerances: bool = True) -> Stress:
    """Volts, amps and watts of every part, healthy (worst state) and under every single fault in every state.

    Power is the sum over the pins of volts times amps into the pin, as ngspice reckons it. Ratings are the parts'
    facts ``watts``, ``volts``, ``amps``; what is not stated is asked for, not invented. ``faults``: only these (none:
    healthy states alone). With ``tolerances`` the worst figures are those of the worst corner of all tolerances in
    every state, and for rated parts under the fault that is worst for them.

    >>> import shouldread as sr
    >>> table = sr.stress(sr.load_circuit("two_feed_enable")).frame()
    >>> f"{table.set_index('part').watts['R1'] * 1e3:.1f} mW in R1 of a good board"
    '2.7 mW in R1 of a good board'
    """
    names = tuple(circuit.faults if faults is None else faults)
    solved = [(state, "", solve(circuit, state=state)) for state in circuit.states]
    solved += [(state, fault, solve(circuit, state=state, fault=fault)) for state in circuit.states for fault in names]
    owners = {fault: circuit.fault(fault)[0].parts for fault in names}
    seen = {part.name: tuple(_seen(part, solved, owners)) for part in circuit.netlist.values()}
    corners = _Corners(circuit) if tolerances else None
    loads = tuple(_load(part, seen[part.name], corners) for part in circuit.netlist.values())
    damage = [row for part in circuit.netlist.values() for row in _damage(part, seen[part.name])]
    asked = [row for part, load in zip(circuit.netlist.values(), loads, strict=True) for row in _asked(part, load)]
    return Stress(loads, tuple(sorted(damage, key=lambda row: -row.times)), tuple(asked))


def _seen(
    part: Part, solved: list[tuple[str, str, Solution]], owners: Mapping[str, tuple[str, ...]]
) -> Iterator[_Seen]:
    """What a part bears wherever it is not the faulty one itself."""
    for state, fault, solution in solved:
        if not fault or part.name not in owners[fault]:
            yield _Seen(state, fault, borne(part, solution))


class _Corners:
    """The worst corners of a circuit, worked out once for each fault and state that is asked about."""

    def __init__(self, circuit: Circuit) -> None:
        self._circuit = circuit
        self._known: dict[tuple[str, str], Mapping[str, tuple[float, float, float]]] = {}

    def of(self, part: Part, seen: _Seen) -> tuple[float, float, float]:
        """What a part bears there at its worst corner; the nominal figures where nothing varies."""
        key = seen.state, seen.fault
        if key not in self._known:
            self._known[key] = at_corners(self._circuit, seen.state, seen.fault or None)
        return self._known[key].get(part.name, seen.borne)


def _load(part: Part, seen: tuple[_Seen, ...], corners: _Corners | None) -> Load:
    healthy = [row for row in seen if not row.fault]
    base = max(healthy, key=lambda row: _size(row.borne[2])).borne
    limits = {what: _rated(part, what) for what in RATED}
    rated = any(value is not None for value in limits.values())
    worst, under = list[float](), list[str]()
    for k in range(3):
        top = max(seen, key=lambda row: _size(row.borne[k]))
        figures = [abs(top.borne[k])]
        if corners is not None and not math.isnan(top.borne[k]):
            asked = [*healthy, top] if rated else healthy
            figures += [corners.of(part, row)[k] for row in asked if not math.isnan(row.borne[k])]
        worst.append(max((f for f in figures if not math.isnan(f)), default=math.nan))
        under.append(top.name)
    rating, verdict = _verdict(limits, dict(zip(RATED, zip(worst, under, strict=True), strict=True)))
    return Load(part.name, *base, worst[0], worst[1], worst[2], under[2], rating, verdict)


def _size(value: float) -> float:
    return -1.0 if math.isnan(value) else abs(value)


def _verdict(limits: Mapping[str, float | None], worst: Mapping[str, tuple[float, str]]) -> tuple[str, str]:
    """The rating in words, and what is to be said of it: each figure under the fault that is worst for that figure."""
    known = {k: v for k, v in limits.items() if v is not None}
    if not known:
        return "unknown", "rating not stated"
    words = ", ".join(f"{say(v, UNITS[k])}" for k, v in known.items())
    over = {k: worst[k][0] / v for k, v in known.items() if worst[k][0] > v}
    if not over:
        return words, "within its rating"
    what, times = max(over.items(), key=lambda item: item[1])
    under = worst[what][1]
    if times > FATAL:
        return words, f"part dies here: readings under {under} not trustworthy ({times:.0f} x its {what})"
    return words, f"carries {times:.1f} x its {what} under {under}"


def _damage(part: Part, seen: tuple[_Seen, ...]) -> Iterator[Damage]:
    """Faults of other parts under which this one is overloaded, each in the state where it is worst."""
    worst: dict[str, Damage] = {}
    for k, what in enumerate(RATED):
        limit = _rated(part, what)
        for row in seen if limit else ():
            times = _size(row.borne[k]) / (limit or 1.0)
            if row.fault and times > 1 and (row.fault not in worst or worst[row.fault].times < times):
                worst[row.fault] = Damage(row.fault, row.state, part.name, what, times)
    yield from worst.values()


def _asked(part: Part, load: Load) -> Iterator[str]:
    """The ratings of a part that nobody stated, with what it would have to bear."""
    missing = [what for what in rated_for(part) if _rated(part, what) is None]
    if missing:
        borne_ = ", ".join(f"{what} (bears {say(getattr(load, f'{what}_worst'), UNITS[what], 2)})" for what in missing)
        line = ", ".join(f'{what} = "?"' for what in missing)
        yield f"{part.name}: what is it rated for? {borne_}; type in [parts]: {part.name} = {{ {line} }}"


def _rated(part: Part, what: str) -> float | None:
    told = part.facts.get(what)
    if told is None or str(told).strip() == "?":
        return None
    return si_number(str(told))[0]
