"""The other half of a repair: confirm, hunt a short, stress, choose the part, prove the board."""

from shouldread.repair.confirm import Confirmation, confirm
from shouldread.repair.confirm_steps import Step
from shouldread.repair.feed_path import Joint, Path, feed_path, joint
from shouldread.repair.proving import Proof, prove
from shouldread.repair.proving_lines import Check, with_rails
from shouldread.repair.replacement import Fit, Requirement, choose_part
from shouldread.repair.short_hunt import Injection, ShortHunt, hunt_short
from shouldread.repair.stress import Load, Stress, stress

__all__ = [
    "Check",
    "Confirmation",
    "Fit",
    "Injection",
    "Joint",
    "Load",
    "Path",
    "Proof",
    "Requirement",
    "ShortHunt",
    "Step",
    "Stress",
    "choose_part",
    "confirm",
    "feed_path",
    "hunt_short",
    "joint",
    "prove",
    "stress",
    "with_rails",
]
