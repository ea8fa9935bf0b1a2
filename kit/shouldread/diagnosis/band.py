"""Band: what a display may show, from low over typical to high, and how a technician says it."""

import math
from dataclasses import dataclass

from shouldread.meter import SETTINGS
from shouldread.quantities import say


@dataclass(frozen=True, slots=True)
class Band:
    """From ``low`` to ``high`` lies what the display shows in 99 of 100 boards (SI; inf is OL, nan is nothing steady).

    ``typical`` is what nominal parts show. ``words`` says all three, ``short`` the typical one.
    """

    low: float
    typical: float
    high: float
    words: str
    short: str

    @classmethod
    def of(
        cls, low: float, typical: float, high: float, setting: str, note: str = "", *, dead: float | None = None
    ) -> "Band":
        """A band in words of its setting (``note``: what is odd about it; ``dead``: what a line may show that is).

        >>> Band.of(2.187, 2.301, 2.424, "volts").words
        '2.301 V (2.187 to 2.424 V)'
        """
        unit = SETTINGS[setting].unit
        if math.isnan(typical):
            return cls(low, typical, high, note or "nothing steady", note or "nothing steady")
        short = say(_rounded(typical, unit), unit)
        words = short
        if dead is not None:
            words = f"{short} (up to {say(dead, unit)})"
        elif not _same(low, high):
            words = f"{short} ({_span(low, high, unit)})"
        return cls(low, typical, high, f"{words}, {note}" if note else words, short)

    def holds(self, value: float) -> bool:
        """Whether a value lies in it."""
        return self.low <= value <= self.high


def _rounded(value: float, unit: str) -> float:
    """Without digits that no display has: 0.1 mV, 10 µA, 10 mΩ."""
    if not math.isfinite(value):
        return value
    least = {"V": 1e-4, "A": 1e-5, "Ω": 1e-2}.get(unit, 0.0)
    return round(value / least) * least + 0.0 if least else value


def _same(low: float, high: float) -> bool:
    if math.isinf(low) or math.isinf(high):
        return low == high
    return abs(high - low) <= 1e-9 * max(abs(high), abs(low), 1e-3)


def _span(low: float, high: float, unit: str) -> str:
    one, two = say(_rounded(low, unit), unit), say(_rounded(high, unit), unit)
    figure, _, behind = one.rpartition(" ")
    return f"{figure} to {two}" if two.endswith(f" {behind}") and figure else f"{one} to {two}"
