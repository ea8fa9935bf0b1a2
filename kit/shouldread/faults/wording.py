"""Severities as a technician writes them: ``x4``, ``1k``."""

import math
from typing import Literal

_PREFIXES = {9: "G", 6: "M", 3: "k", 0: "", -3: "m", -6: "u", -9: "n", -12: "p"}


def compact(value: float) -> str:
    """A figure with its SI prefix letter, at most four digits: 4700 -> ``4.7k``, 1e6 -> ``1M``."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    power = max(-12, min(9, 3 * math.floor(math.log10(abs(float(f"{value:.4g}"))) / 3)))
    return f"{value / 10.0**power:.4g}{_PREFIXES[power]}"


def say_severity(unit: Literal["ohm", "factor"], severity: float) -> str:
    """``x4`` for a factor, ``1k`` for ohms: as the fault's name spells it."""
    return f"x{severity:.4g}" if unit == "factor" else compact(severity)
