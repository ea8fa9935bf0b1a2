"""A value with what is unsure about it: exact, a tolerance, a range, or unreadable."""

import math
from dataclasses import dataclass, replace
from typing import Literal

Law = Literal["exact", "uniform", "normal", "log-uniform"]


@dataclass(frozen=True, slots=True)
class Spread:
    """Nominal value and how the true value may lie around it (SI units throughout).

    ``exact``: low = nominal = high. ``uniform``: hard limits low..high (a typed ``± t``).
    ``normal``: low..high is ±2 sigma in the logarithm (a generic tolerance of the trade).
    ``log-uniform``: anywhere between low and high, equally likely per decade (``1k..100k``, ``?``);
    nominal is then the geometric middle. A log-uniform spread with high > 2 low is *wide*: a nuisance
    that readings narrow down.
    """

    nominal: float
    low: float
    high: float
    law: Law = "exact"

    @classmethod
    def exact(cls, value: float) -> "Spread":
        """A value taken as it stands."""
        return cls(value, value, value, "exact")

    @classmethod
    def uniform(cls, value: float, fraction: float) -> "Spread":
        """``value ± fraction`` with hard limits, as typed by a user."""
        half = abs(value) * fraction
        return cls(value, value - half, value + half, "uniform")

    @classmethod
    def normal(cls, value: float, fraction: float) -> "Spread":
        """A default tolerance: ``fraction`` is two sigma."""
        half = abs(value) * fraction
        return cls(value, value - half, value + half, "normal")

    @classmethod
    def between(cls, low: float, high: float) -> "Spread":
        """A range: log-uniform when high > 2 low > 0, else uniform."""
        if 0 < low and high > 2 * low:
            return cls(math.sqrt(low * high), low, high, "log-uniform")
        return cls((low + high) / 2, low, high, "uniform")

    @property
    def wide(self) -> bool:
        """Whether the value is so unsure that it must never be linearised once."""
        return self.law == "log-uniform" and self.high > 2 * self.low

    @property
    def sigma(self) -> float:
        """Standard deviation in the value's own unit (relative one of the logarithm for log-uniform)."""
        if self.law == "exact":
            return 0.0
        if self.law == "normal":
            return (self.high - self.low) / 4
        if self.law == "uniform":
            return (self.high - self.low) / math.sqrt(12)
        return math.log(self.high / self.low) / math.sqrt(12)

    def around(self, nominal: float) -> "Spread":
        """The same relative spread around another nominal value."""
        if self.nominal == 0 or self.law == "log-uniform":
            return replace(self, nominal=nominal, low=nominal, high=nominal, law="exact")
        scale = nominal / self.nominal
        low, high = sorted((self.low * scale, self.high * scale))
        return Spread(nominal, low, high, self.law)
