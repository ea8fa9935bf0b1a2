"""Lessons: what a learner answered and found in practice, kept beside the cases and never mixed with them."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

from shouldread.casebook.event import LONGEST, fresh_uid
from shouldread.casebook.keeper import Store
from shouldread.errors import RequestError, UnknownNameError

KINDS = ("drill", "exercise")
LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class Lesson:
    """Who, what kind (``drill``, ``exercise``), what came of it, and when (UTC)."""

    learner: str
    kind: str
    body: Mapping[str, object]
    at: datetime = field(default_factory=lambda: datetime.now(UTC))
    uid: str = field(default_factory=fresh_uid)


def keep_lesson(store: Store, lesson: Lesson) -> None:
    """Write a lesson down; one whose uid is known is taken once. Raises RequestError, UnknownNameError."""
    name = lesson.learner.strip()
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise RequestError(f"a learner needs a name of 1 to {LONGEST_NAME} printable characters", value=name)
    if lesson.kind not in KINDS:
        raise UnknownNameError("kind of lesson", lesson.kind, KINDS)
    body = json.dumps(dict(lesson.body), ensure_ascii=False, sort_keys=True)
    if len(body) > LONGEST:
        raise RequestError(f"that is longer than {LONGEST} characters")
    with store.writing() as connection:
        connection.execute(
            "INSERT INTO lessons(uid, learner, at, kind, body) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
            (lesson.uid, name, lesson.at.isoformat(), lesson.kind, body),
        )


def kept_lessons(store: Store, learner: str, kind: str) -> tuple[Lesson, ...]:
    """Lessons, oldest first; of all learners or kinds where none is named."""
    with store.connection() as connection:
        rows = connection.execute(
            "SELECT learner, kind, body, at, uid FROM lessons"
            " WHERE (? = '' OR learner = ?) AND (? = '' OR kind = ?) ORDER BY seq",
            (learner.strip(), learner.strip(), kind, kind),
        ).fetchall()
    return tuple(Lesson(w, k, json.loads(b), datetime.fromisoformat(a), u) for w, k, b, a, u in rows)
