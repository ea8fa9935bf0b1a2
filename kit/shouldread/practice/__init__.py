"""Practice: hidden faults to find, and predictions to make before probing."""

from shouldread.practice.act import Act, Toll
from shouldread.practice.drills import Drill, drill
from shouldread.practice.exercise import Exercise, exercise
from shouldread.practice.question import Marked, Question
from shouldread.practice.result import Result
from shouldread.practice.sealing import seal, unseal
from shouldread.practice.truth_table import Level, TruthRow, TruthTable, truth_table

__all__ = [
    "Act",
    "Drill",
    "Exercise",
    "Level",
    "Marked",
    "Question",
    "Result",
    "Toll",
    "TruthRow",
    "TruthTable",
    "drill",
    "exercise",
    "seal",
    "truth_table",
    "unseal",
]
