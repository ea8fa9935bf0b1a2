"""Choosing a replacement: what it must be, by which rule, and whether a candidate fits."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from shouldread.circuit import Circuit
from shouldread.errors import KitError, RequestError
from shouldread.parts import KINDS, Part
from shouldread.quantities import Spread, say, si_number
from shouldread.repair.stress import Load, stress

TRADE = "common practice, no source"
DERATE: Mapping[str, float] = {"R": 2.0, "D": 2.0, "Q": 2.0, "M": 2.0}  # watts: rated over borne
VOLTS: Mapping[str, float] = {"C": 2.0, "D": 1.5, "Q": 1.5, "M": 1.5, "R": 1.5}
SATURATION = 1.3  # a coil's saturation current over what it carries


@dataclass(frozen=True, slots=True)
class Line:
    """One requirement: what, at least (or at most) how much in SI units, its rule and where that comes from."""

    what: str
    low: float
    high: float
    unit: str
    rule: str
    source: str

    def __str__(self) -> str:
        low, high = say(self.low, self.unit, 3), say(self.high, self.unit, 3)
        span = (
            f"at least {low}"
            if self.high == float("inf")
            else f"{low} to {high}"
            if self.low > 0
            else f"at most {high}"
        )
        return f"{self.what}: {span} ({self.rule}; {self.source})"


@dataclass(frozen=True, slots=True)
class Fit:
    """Whether a candidate fits, line by line; what it does not state is asked for."""

    fits: bool
    lines: tuple[str, ...]

    def __bool__(self) -> bool:
        return self.fits

    def __str__(self) -> str:
        return "\n".join(["fits" if self.fits else "does not fit, or not all is known", *self.lines])


@dataclass(frozen=True, slots=True)
class Requirement:
    """What a replacement must be."""

    part: str
    lines: tuple[Line, ...]
    cautions: tuple[str, ...]

    def check(self, text: str) -> Fit:
        """A candidate as its seller writes it: ``"2.2 µH, 3 A sat, 30 mΩ"``. Raises RequestError when nothing is read."""
        told = _told(text)
        if not told:
            raise RequestError(
                f"no figure with a unit is in {text!r}; write for instance 10 µH, 4 A sat, 30 mΩ", value=text
            )
        rows, fits = [], True
        for line in self.lines:
            value = told.get(line.what)
            if value is None:
                rows.append(f"? {line.what}: not stated; needs {line}")
                fits = False
            elif line.low * (1 - 1e-9) <= value <= line.high * (1 + 1e-9):
                rows.append(f"yes {line.what}: {say(value, line.unit, 3)}")
            else:
                rows.append(f"no {line.what}: {say(value, line.unit, 3)}; needs {line}")
                fits = False
        return Fit(fits, tuple(rows))

    def __str__(self) -> str:
        return "\n".join(
            [
                f"Replacement for {self.part}",
                *(f"  {line}" for line in self.lines),
                *(f"  Caution: {c}" for c in self.cautions),
            ]
        )


def choose_part(circuit: Circuit, part: str, *, original: str | None = None, twin: str | None = None) -> Requirement:
    """What a replacement of a part must be: value, volts, watts, amps, with the rule of each and its source.

    ``original``: its marking as text where it can be read; ``twin``: the same part of a twin stage on the board, whose
    value is taken. Loads are those of ``stress`` without any fault. Raises UnknownNameError for a part not there.

    >>> import shouldread as sr
    >>> sr.choose_part(sr.load_circuit("two_feed_enable"), "L1").check("10 µH, 4 A sat, 30 mΩ").fits
    True
    """
    chosen = circuit.part(part)
    like = circuit.part(twin) if twin is not None else chosen
    load = stress_of(circuit, chosen)
    lines = _value(like, original) + _loads(chosen, load)
    return Requirement(chosen.name, tuple(lines), _cautions(chosen))


def stress_of(circuit: Circuit, part: Part) -> Load:
    """What the part bears in the healthy states."""
    return stress(circuit, faults=())[part.name]


def _value(part: Part, original: str | None) -> list[Line]:
    kind = KINDS[part.kind]
    value = part.value
    if original is not None:
        told = _told(original).get(kind.value_name)
        value = Spread.normal(told, 0.05) if told is not None else value
    if value is None or part.kind not in "RCL":
        return []
    half = max((value.high - value.low) / 2, (0.2 if part.kind in "CL" else 0.05) * value.nominal)
    rule = "the same value, tolerance no wider" + (", measured at its bias" if part.kind == "C" else "")
    return [Line(kind.value_name, value.nominal - half, value.nominal + half, kind.unit, rule, TRADE)]


def _loads(part: Part, load: Load) -> list[Line]:
    lines = []
    inf = float("inf")
    if part.kind in VOLTS:
        need = VOLTS[part.kind] * load.volts_worst
        lines.append(Line("volts", need, inf, "V", f"{VOLTS[part.kind]:g} x the volts it stands", TRADE))
    if part.kind in DERATE:
        need = DERATE[part.kind] * load.watts_worst
        lines.append(Line("watts", need, inf, "W", f"{DERATE[part.kind]:g} x the watts it turns to heat", TRADE))
    if part.kind == "L":
        lines.append(Line("amps", SATURATION * load.amps_worst, inf, "A", "saturation 1.3 x what it carries", TRADE))
        dcr = part.facts.get("dcr")
        if isinstance(dcr, Spread):
            lines.append(
                Line(
                    "resistance", 0.0, 1.2 * dcr.nominal, "Ω", "winding no more than the original's by a fifth", TRADE
                )
            )
    if part.kind in "DQM":
        lines.append(Line("amps", 1.5 * load.amps_worst, inf, "A", "1.5 x what it carries", TRADE))
    return lines


def _cautions(part: Part) -> tuple[str, ...]:
    told = {
        "Q": "check the pin-out in the maker's own sheet: packages that look alike differ",
        "M": "check pin-out, body diode direction and the threshold against the drive volts",
        "C": "class 2 ceramics lose value under bias: same size or larger, twice the rail's volts",
        "L": "a bead is no coil: same inductance, shielded if the original was; a link is for a test only, it proves no load",
        "X": "the exact suffix: enable polarity, reference and output volts hide in it",
    }
    return (told[part.kind],) if part.kind in told else ()


_NAMES = {"Ω": "resistance", "F": "capacitance", "H": "inductance", "V": "volts", "A": "amps", "W": "watts"}


def _told(text: str) -> dict[str, float]:
    """Figures of a candidate by what they are, from their units."""
    found: dict[str, float] = {}
    for piece in re.split(r"[,;]\s+|,(?=\s*\D)", text):
        words = piece.strip().split()
        for count in (2, 1):
            try:
                value, unit = si_number(" ".join(words[:count]))
            except KitError:
                continue
            if unit in _NAMES:
                found.setdefault(_NAMES[unit], value)
                break
    return found
