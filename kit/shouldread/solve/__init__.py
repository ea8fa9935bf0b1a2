"""The solver: what every node of a circuit stands at."""

from shouldread.solve.answer import solve
from shouldread.solve.outcome import Outcome, Solution

__all__ = ["Outcome", "Solution", "solve"]
