"""The solver: what every node of a circuit stands at."""

from shouldread.solve.answer import solve
from shouldread.solve.network import Network, Param, Points
from shouldread.solve.outcome import Outcome, Solution
from shouldread.solve.warm import warm_up

__all__ = ["Network", "Outcome", "Param", "Points", "Solution", "solve", "warm_up"]
