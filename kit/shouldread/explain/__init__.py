"""Why a node reads what it reads: formula, road in words, sensitivities."""

from shouldread.explain.explanation import Explanation, explain
from shouldread.explain.formula import Formula
from shouldread.explain.regions import Region, regions

__all__ = ["Explanation", "Formula", "Region", "explain", "regions"]
