"""The course: topics in order, and how far a learner is in each, out of what the casebook keeps."""

import random
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from shouldread.casebook import Casebook, Lesson
from shouldread.meter import meter
from shouldread.practice.asking import Asking
from shouldread.practice.beginning import exercise
from shouldread.practice.boxes import boxes
from shouldread.practice.drills import Drill, drill_on
from shouldread.practice.exercise import Exercise
from shouldread.practice.hiding import on_shelf

KNOWN = 0.6  # of a topic's questions answered right when last asked, from which it is known (own setting)
FOUND = 2  # faults found by reading, not by guess, that a topic asks for (own setting)
SUPPORTED = 0.5  # score from which a fault was found by reading


@dataclass(frozen=True, slots=True)
class Topic:
    """A topic of the course: its circuits, and how hard its exercises are."""

    name: str
    circuits: tuple[str, ...]
    step: int


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a learner is in a topic: questions known of all, and faults found by reading."""

    topic: Topic
    known: int
    questions: int
    found: int

    @property
    def done(self) -> bool:
        """Whether the next topic may be begun."""
        return self.known >= KNOWN * self.questions and self.found >= FOUND

    def __str__(self) -> str:
        sign = "done" if self.done else "open"
        return (
            f"{self.topic.name}: {sign}; {self.known} of {self.questions} questions known, "
            f"{self.found} of {FOUND} faults found by reading"
        )


@cache
def topics() -> tuple[Topic, ...]:
    """The topics in their order."""
    rows = tomllib.loads(Path(__file__).with_name("course.toml").read_text(encoding="utf-8"))["topic"]
    return tuple(Topic(str(row["name"]), tuple(row["circuits"]), int(row["step"])) for row in rows)


class Course:
    """A learner's way through the topics. ``drill()`` and ``exercise()`` go on where the learner is."""

    def __init__(self, learner: str, book: Casebook) -> None:
        self.learner = learner
        self._book = book

    @property
    def progress(self) -> tuple[Progress, ...]:
        """How far the learner is in each topic, from what the casebook holds now."""
        lessons = self._book.lessons(self.learner)
        return tuple(_progress(topic, lessons) for topic in topics())

    @property
    def now(self) -> Topic:
        """The first topic that is not done; the last one when all are."""
        return next((p.topic for p in self.progress if not p.done), topics()[-1])

    def drill(self, seed: int | None = None) -> Drill:
        """Questions on the present topic; answers are kept."""
        boards = [on_shelf(name) for name in self.now.circuits]
        return drill_on(boards, seed, learner=self.learner, casebook=self._book)

    def exercise(self, seed: int | None = None) -> Exercise:
        """A hidden fault of the present topic; its end is kept."""
        number = random.randrange(2**32) if seed is None else seed
        topic = self.now
        name = random.Random(number).choice(topic.circuits)
        return exercise(
            circuit=on_shelf(name), step=topic.step, seed=number, learner=self.learner, casebook=self._book
        )

    def __str__(self) -> str:
        return "\n".join([f"Course of {self.learner}", *(f"  {p}" for p in self.progress)])

    def __repr__(self) -> str:
        return f"Course({self.learner!r})"


def course(learner: str, casebook: Casebook | None = None) -> Course:
    """The course of a learner, as far as the casebook knows it.

    >>> import shouldread as sr, tempfile, pathlib
    >>> book = sr.Casebook(pathlib.Path(tempfile.mkdtemp()) / "cases.sqlite")
    >>> course("Ana", book).now.name
    'Dividers and pull-ups'
    """
    return Course(learner, casebook if casebook is not None else Casebook())


@cache
def _questions(circuit: str) -> tuple[str, ...]:
    return Asking(on_shelf(circuit), meter("handheld")).keys


def _progress(topic: Topic, lessons: Sequence[Lesson]) -> Progress:
    answers = [(str(o.body["card"]), bool(o.body["right"]), o.at) for o in lessons if o.kind == "drill"]
    cards = boxes(answers)
    keys = [key for name in topic.circuits for key in _questions(name)]
    known = sum(cards[key].box > 1 for key in keys if key in cards)
    found = sum(
        o.body["circuit"] in topic.circuits and o.body["step"] == topic.step and _score(o) >= SUPPORTED
        for o in lessons
        if o.kind == "exercise"
    )
    return Progress(topic, known, len(keys), found)


def _score(lesson: Lesson) -> float:
    score = lesson.body.get("score", 0.0)
    return float(score) if isinstance(score, int | float) else 0.0
