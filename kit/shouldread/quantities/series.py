"""Preferred values (IEC 60063): which standard value is nearest, next above, next below."""

import math
from bisect import bisect_left
from collections.abc import Mapping

from shouldread.errors import QuantityError, UnknownNameError

_E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)


def _geometric(steps: int) -> tuple[int, ...]:
    """E48, E96, E192 are the geometric series rounded to three figures, but for 920 in place of 919."""
    return tuple(920 if (n := round(100 * 10 ** (i / steps))) == 919 else n for i in range(steps))


# IEC 60063:2015, from memory: the figures of one decade; E3, E6 and E12 thin out E24
FIGURES: Mapping[str, tuple[int, ...]] = {
    "E3": _E24[::8],
    "E6": _E24[::4],
    "E12": _E24[::2],
    "E24": _E24,
    "E48": _geometric(48),
    "E96": _geometric(96),
    "E192": _geometric(192),
}

# the tolerance for which each series is meant, as a fraction (IEC 60063, from memory; E3 above 20 %)
TOLERANCES: Mapping[str, float] = {
    "E3": 0.4,
    "E6": 0.2,
    "E12": 0.1,
    "E24": 0.05,
    "E48": 0.02,
    "E96": 0.01,
    "E192": 0.005,
}


def _decade(series: str) -> tuple[int, ...]:
    found = FIGURES.get(series.upper())
    if found is None:
        raise UnknownNameError("series of preferred values", series, FIGURES)
    return found


def _around(value: float, series: str) -> tuple[float, float]:
    """The largest preferred value at or below, and the smallest at or above."""
    figures = _decade(series)
    if not (math.isfinite(value) and 1e-30 < value < 1e30):
        raise QuantityError(f"preferred values are positive numbers; {value!r} is not", value=value)
    size = len(str(figures[0]))
    power = math.floor(math.log10(value)) - size + 1
    ladder = [float(f"{n}e{power + shift}") for shift in (-1, 0, 1) for n in figures]
    at = bisect_left(ladder, value * (1 - 1e-12))
    if math.isclose(ladder[at], value, rel_tol=1e-9):
        return ladder[at], ladder[at]
    return ladder[at - 1], ladder[at]


def next_below(value: float, series: str = "E24") -> float:
    """The largest preferred value not above ``value``. Raises QuantityError, UnknownNameError."""
    return _around(value, series)[0]


def next_above(value: float, series: str = "E24") -> float:
    """The smallest preferred value not below ``value``. Raises QuantityError, UnknownNameError."""
    return _around(value, series)[1]


def nearest(value: float, series: str = "E24") -> float:
    """The preferred value with the smallest ratio to ``value``. Raises QuantityError, UnknownNameError.

    >>> nearest(5e3), nearest(5e3, "E96")
    (5100.0, 4990.0)
    """
    low, high = _around(value, series)
    return low if value / low <= high / value else high


def is_preferred(value: float, series: str = "E24") -> bool:
    """Whether a value is one of the series (to 1e-9 relative)."""
    low, high = _around(value, series)
    return low == high


def series_of(value: float) -> str | None:
    """The coarsest series that holds a value, or None: 4.99 k is E96, 5 k is of none.

    >>> series_of(4.7e3), series_of(4.99e3), series_of(5e3)
    ('E3', 'E96', None)
    """
    return next((series for series in FIGURES if is_preferred(value, series)), None)
