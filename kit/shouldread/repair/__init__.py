"""The other half of a repair: confirm, hunt a short, stress, choose the part, prove the board."""

from shouldread.repair.confirm import Confirmation, Step, confirm
from shouldread.repair.short_hunt import Injection, ShortHunt, hunt_short

__all__ = ["Confirmation", "Injection", "ShortHunt", "Step", "confirm", "hunt_short"]
