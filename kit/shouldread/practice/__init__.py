"""Practice: hidden faults to find, and predictions to make before probing."""

from shouldread.practice.act import Act, Toll
from shouldread.practice.exercise import Exercise, exercise
from shouldread.practice.result import Result
from shouldread.practice.sealing import seal, unseal

__all__ = ["Act", "Exercise", "Result", "Toll", "exercise", "seal", "unseal"]
