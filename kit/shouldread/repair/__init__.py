"""The other half of a repair: confirm, hunt a short, stress, choose the part, prove the board."""

from shouldread.repair.confirm import Confirmation, Step, confirm
from shouldread.repair.replacement import Fit, Requirement, choose_part
from shouldread.repair.short_hunt import Injection, ShortHunt, hunt_short
from shouldread.repair.stress import Load, Stress, stress

__all__ = [
    "Confirmation",
    "Fit",
    "Injection",
    "Load",
    "Requirement",
    "ShortHunt",
    "Step",
    "Stress",
    "choose_part",
    "confirm",
    "hunt_short",
    "stress",
]
