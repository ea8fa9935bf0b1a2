"""A learner's record: log and summary, as text and as a page to print."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from jinja2 import Environment, PackageLoader, StrictUndefined

from shouldread.casebook import Casebook, Lesson
from shouldread.practice.course import Progress, course

MOST_MISSED = 8


@dataclass(frozen=True, slots=True)
class Row:
    """One exercise as the record tells it."""

    day: str
    circuit: str
    step: int
    end: str
    minutes: float
    risk: float
    predicted: str
    needless: int
    score: float
    log: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Record:
    """``progress`` by topic, ``exercises`` oldest first, ``answers`` right of all, ``missed`` (question, times)."""

    learner: str
    progress: tuple[Progress, ...]
    exercises: tuple[Row, ...]
    answers: tuple[int, int]
    missed: tuple[tuple[str, int], ...]

    def html(self) -> str:
        """A page to print, complete by itself; every word in it is escaped."""
        pages = Environment(
            loader=PackageLoader("shouldread.practice"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
        )
        return pages.get_template("record.html").render(record=self)

    def __str__(self) -> str:
        return "\n".join(self._lines())

    def _lines(self) -> Iterator[str]:
        yield f"Record of {self.learner}"
        yield from (f"  {p}" for p in self.progress)
        yield f"Questions: {self.answers[0]} of {self.answers[1]} right"
        yield from (f"  missed {times} times: {question}" for question, times in self.missed)
        for row in self.exercises:
            yield (
                f"{row.day} {row.circuit}, step {row.step}: {row.end}; {row.minutes:.0f} min, risk {100 * row.risk:.0f} %, "
                f"predictions {row.predicted}, needless parts {row.needless}, score {row.score:.2f}"
            )
            yield from (f"    {line}" for line in row.log)


def record(learner: str, casebook: Casebook | None = None) -> Record:
    """What a learner did so far: progress, every exercise with its log, and what was missed most.

    >>> import shouldread as sr, tempfile, pathlib
    >>> book = sr.Casebook(pathlib.Path(tempfile.mkdtemp()) / "cases.sqlite")
    >>> record("Ana", book).answers
    (0, 0)
    """
    book = casebook if casebook is not None else Casebook()
    lessons = book.lessons(learner)
    drills = [one.body for one in lessons if one.kind == "drill"]
    missed = Counter(_said(str(body["card"])) for body in drills if not body["right"])
    return Record(
        learner,
        course(learner, book).progress,
        tuple(_row(one) for one in lessons if one.kind == "exercise"),
        (sum(bool(body["right"]) for body in drills), len(drills)),
        tuple(missed.most_common(MOST_MISSED)),
    )


def _said(key: str) -> str:
    """A question's name in words: ``two_supply_and: reads, no 12V, EN``."""
    name, kind, state, about = key.split("|")
    return f"{name}: " + ", ".join(word for word in (kind, state.replace("_", " "), about) if word)


def _row(lesson: Lesson) -> Row:
    body: Mapping[str, object] = lesson.body
    right, made = _numbers(body["predicted"])
    log = body["log"]
    return Row(
        lesson.at.date().isoformat(),
        str(body["circuit"]),
        int(_number(body["step"])),
        str(body["end"]),
        _number(body["minutes"]),
        _number(body["risk"]),
        f"{right} of {made}",
        int(_number(body["needless"])),
        _number(body["score"]),
        tuple(map(str, log)) if isinstance(log, list) else (),
    )


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else 0.0


def _numbers(value: object) -> tuple[int, int]:
    pair = value if isinstance(value, list) and len(value) == 2 else (0, 0)
    return int(pair[0]), int(pair[1])
