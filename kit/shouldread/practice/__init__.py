"""Practice: hidden faults to find, and predictions to make before probing."""

from shouldread.practice.act import Act, Toll
from shouldread.practice.beginning import exercise
from shouldread.practice.compare import Road, blind, follow, wander
from shouldread.practice.course import Course, Progress, Topic, course, topics
from shouldread.practice.drills import Drill, drill
from shouldread.practice.exercise import Exercise
from shouldread.practice.question import Marked, Question
from shouldread.practice.record import Record, record
from shouldread.practice.result import Result
from shouldread.practice.sealing import seal, unseal
from shouldread.practice.truth_table import Level, TruthRow, TruthTable, truth_table

__all__ = [
    "Act",
    "Course",
    "Drill",
    "Exercise",
    "Level",
    "Marked",
    "Progress",
    "Question",
    "Record",
    "Result",
    "Road",
    "Toll",
    "Topic",
    "TruthRow",
    "TruthTable",
    "blind",
    "course",
    "drill",
    "exercise",
    "follow",
    "record",
    "seal",
    "topics",
    "truth_table",
    "unseal",
    "wander",
]
