"""The solver: what every node of a circuit stands at."""

from shouldread.solve.answer import DEFAULT_METER, Loading, bits_reached, chain, solve
from shouldread.solve.lane_rest import FAILED
from shouldread.solve.lane_slopes import Moved
from shouldread.solve.links import linked
from shouldread.solve.network import Network, Param, Points
from shouldread.solve.outcome import Outcome, Solution
from shouldread.solve.patch import OPEN, loaded, patched
from shouldread.solve.pins import part_amps, pin_amps
from shouldread.solve.shared import Laid, Shared
from shouldread.solve.steady import Rest
from shouldread.solve.warm import warm_up

__all__ = [
    "DEFAULT_METER",
    "FAILED",
    "OPEN",
    "Laid",
    "Loading",
    "Moved",
    "Network",
    "Outcome",
    "Param",
    "Points",
    "Rest",
    "Shared",
    "Solution",
    "bits_reached",
    "chain",
    "linked",
    "loaded",
    "part_amps",
    "patched",
    "pin_amps",
    "solve",
    "warm_up",
]
