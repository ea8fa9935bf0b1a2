"""Colour bands of leaded resistors (IEC 60062), read and written."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shouldread.errors import QuantityError, UnknownNameError
from shouldread.quantities.spread import Spread
from shouldread.quantities.wording import say_spread


@dataclass(frozen=True, slots=True)
class Colour:
    """What one colour means as a figure, a power of ten, a tolerance (percent) and a coefficient (ppm/K)."""

    figure: int | None
    power: int | None
    tolerance: float | None
    coefficient: float | None


# IEC 60062:2016, from memory
COLOURS: Mapping[str, Colour] = {
    "pink": Colour(None, -3, None, None),
    "silver": Colour(None, -2, 10, None),
    "gold": Colour(None, -1, 5, None),
    "black": Colour(0, 0, None, 250),
    "brown": Colour(1, 1, 1, 100),
    "red": Colour(2, 2, 2, 50),
    "orange": Colour(3, 3, 0.05, 15),
    "yellow": Colour(4, 4, 0.02, 25),
    "green": Colour(5, 5, 0.5, 20),
    "blue": Colour(6, 6, 0.25, 10),
    "violet": Colour(7, 7, 0.1, 5),
    "grey": Colour(8, 8, 0.01, 1),
    "white": Colour(9, 9, None, None),
}
_OTHER_NAMES = {"gray": "grey", "purple": "violet"}
_ROLES = {
    "figure": "figure",
    "power": "multiplier",
    "tolerance": "tolerance",
    "coefficient": "temperature coefficient",
}
_SPLIT = re.compile(r"[\s,;/+-]+")
_EXAMPLE = "write for instance yellow violet red gold"
UNMARKED = 20.0  # percent, no tolerance band


@dataclass(frozen=True, slots=True)
class Banded:
    """A resistor read from its bands: value with tolerance, and ppm/K where a sixth band says so."""

    spread: Spread
    coefficient: float | None = None

    def __str__(self) -> str:
        drift = f", {self.coefficient:g} ppm/K" if self.coefficient is not None else ""
        return say_spread(self.spread, "Ω") + drift


def _colour(name: object) -> str:
    folded = str(name).strip().casefold()
    plain = _OTHER_NAMES.get(folded, folded)
    if plain not in COLOURS:
        raise UnknownNameError("band colour", str(name)[:40], COLOURS)
    return plain


def _asked(name: str, role: str) -> float:
    """What a colour means in that role (a field of Colour). Raises QuantityError with the colours that may stand there."""
    what: float | None = getattr(COLOURS[name], role)
    if what is None:
        known = ", ".join(other for other, colour in COLOURS.items() if getattr(colour, role) is not None)
        raise QuantityError(
            f"{name} is no {_ROLES[role]}: {known} may stand there, or the bands are read from the wrong end",
            value=name,
        )
    return what


def read_bands(bands: str | Sequence[str]) -> Banded:
    """Read 3 to 6 colour bands, first band first; a lone black band is a jumper of 0 Ω.

    Raises UnknownNameError for a colour, QuantityError for bands that mean nothing in this order.

    >>> str(read_bands("yellow violet red gold"))
    '4.7 kΩ ± 5 %'
    """
    names = (
        _SPLIT.split(bands.strip()) if isinstance(bands, str) else [*bands] if isinstance(bands, Sequence) else [bands]
    )
    read = [_colour(name) for name in names if name != ""]
    if read == ["black"]:
        return Banded(Spread.exact(0.0))
    if not 3 <= len(read) <= 6:
        raise QuantityError(f"3 to 6 bands are meant, not {len(read)}: {_EXAMPLE}", value=bands)
    count = 3 if len(read) >= 5 else 2
    if read[0] == "black":
        raise QuantityError(
            f"no code begins with black: the bands are read from the wrong end, or a single black band is 0 Ω; {_EXAMPLE}",
            value=bands,
        )
    figures = [int(_asked(name, "figure")) for name in read[:count]]
    value = float("".join(map(str, figures)) + f"e{int(_asked(read[count], 'power'))}")
    percent = _asked(read[count + 1], "tolerance") if len(read) > count + 1 else UNMARKED
    coefficient = _asked(read[5], "coefficient") if len(read) == 6 else None
    return Banded(Spread.uniform(value, percent / 100), coefficient)


def write_bands(value: float, tolerance: float, bands: int = 4) -> tuple[str, ...]:
    """The 3, 4 or 5 bands of a resistor; ``tolerance`` is a fraction (0.2 for 3 bands, which have no such band).

    Raises QuantityError for a value or tolerance that the bands cannot show.
    """
    if value == 0:
        return ("black",)
    if bands not in (3, 4, 5) or not 0 < value < math.inf:
        raise QuantityError(f"3, 4 or 5 bands show a positive value; {bands} bands cannot show {value!r}", value=value)
    figures = 3 if bands == 5 else 2
    by_figure = {c.figure: name for name, c in COLOURS.items() if c.figure is not None}
    by_power = {c.power: name for name, c in COLOURS.items() if c.power is not None}
    by_tolerance = {c.tolerance: name for name, c in COLOURS.items() if c.tolerance is not None}
    power = math.floor(math.log10(value) + 1e-9) - figures + 1
    number = round(value / 10.0**power)
    if power not in by_power or not math.isclose(number * 10.0**power, value, rel_tol=1e-9):
        raise QuantityError(f"{bands} bands cannot show {value!r} Ω", value=value)
    shown = [by_figure[int(digit)] for digit in str(number)] + [by_power[power]]
    percent = round(100 * tolerance, 6)
    if bands == 3:
        if percent != UNMARKED:
            raise QuantityError("three bands mean ± 20 %; ask for 4 or 5 bands", value=tolerance)
        return tuple(shown)
    if percent not in by_tolerance:
        raise QuantityError(f"no band shows ± {percent:g} %", value=tolerance)
    return (*shown, by_tolerance[percent])
