"""How bad a fault may be: the range that a leak's ohms or a drift's factor comes from."""

import math
from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Severity:
    """How bad a fault may be: log-uniform from low to high, in ohms or as a factor on the value.

    ``median`` is the value taken when nobody says how bad: the geometric middle of the range, save where
    that would be no fault at all (a factor that may be above or below 1).
    """

    unit: Literal["ohm", "factor"]
    low: float
    high: float
    median: float

    @classmethod
    def between(cls, unit: Literal["ohm", "factor"], low: float, high: float) -> "Severity":
        """The range low..high with its geometric middle as the median."""
        return cls(unit, low, high, math.sqrt(low * high))
