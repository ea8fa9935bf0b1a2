"""Cases like this one: same marking, same stage, same rail wrong first, readings alike. The rarer, the more it says."""

import math
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

from shouldread.casebook.record import Record
from shouldread.casebook.store import SqliteStore

SAME_BOARD, SAME_STAGE, SAME_RAIL = 3.0, 2.0, 2.0  # a reading that only one other case shares weighs 1
NEAR = 0.1  # two readings are alike when they overlap, or nearly: parts and meters differ by a few per cent


@dataclass(frozen=True, slots=True)
class Likeness:
    """Another case, how like it is, why, and what it turned out to be."""

    case: str
    score: float
    why: tuple[str, ...]
    cause: str

    def __str__(self) -> str:
        found = f"; it was {self.cause}" if self.cause else ""
        return f"{self.case}: {', '.join(self.why)}{found}"


@dataclass(frozen=True, slots=True)
class _Shared:
    """Something this case has, how much it says, and the other cases that have it too."""

    words: str
    weight: float
    cases: frozenset[int]


def similar(store: SqliteStore, case: Record, limit: int) -> tuple[Likeness, ...]:
    """Rank the other cases by what they share with this one; what nearly every case shares counts for nothing."""
    with store.connection() as connection:
        (others,) = connection.execute("SELECT count(*) FROM cases WHERE id <> ?", (case.id,)).fetchone()
        shared = [*_marking(connection, case), *_traits(connection, case), *_readings(connection, case, int(others))]
        scores: dict[int, float] = {}
        for one in shared:
            for other in one.cases:
                scores[other] = scores.get(other, 0.0) + one.weight
        best = sorted(scores, key=lambda other: (-scores[other], -other))[:limit]
        return tuple(
            _likeness(connection, other, scores[other], tuple(s.words for s in shared if other in s.cases))
            for other in best
        )


def _marking(connection: sqlite3.Connection, case: Record) -> Iterable[_Shared]:
    if case.board:
        rows = connection.execute("SELECT id FROM cases WHERE board = ? AND id <> ?", (case.board, case.id))
        yield _Shared("same board", SAME_BOARD, _ids(rows))


def _traits(connection: sqlite3.Connection, case: Record) -> Iterable[_Shared]:
    mine = connection.execute("SELECT trait FROM traits WHERE case_id = ? ORDER BY trait DESC", (case.id,)).fetchall()
    for (trait,) in mine:
        rows = connection.execute("SELECT case_id FROM traits WHERE trait = ? AND case_id <> ?", (trait, case.id))
        sort, _, rest = str(trait).partition(" ")
        stage = sort == "stage"
        words = "same stage" if stage else f"{rest.upper().partition(' ')[0]} {rest.partition(' ')[2]} first"
        yield _Shared(words, SAME_STAGE if stage else SAME_RAIL, _ids(rows))


def _readings(connection: sqlite3.Connection, case: Record, others: int) -> Iterable[_Shared]:
    mine = connection.execute(
        "SELECT place, setting, min(low), max(high) FROM values_read WHERE case_id = ? AND good = 0"
        " GROUP BY place, setting, low, high",
        (case.id,),
    ).fetchall()
    for place, setting, low, high in mine:
        rows = connection.execute(
            "SELECT case_id FROM values_read WHERE place = ? AND setting = ? AND good = 0 AND low <= ? AND high >= ?",
            (place, setting, high + NEAR * abs(high), low - NEAR * abs(low)),
        )
        alike = _ids(rows) - {case.id}
        if alike:
            weight = math.log((others + 1) / len(alike)) / math.log(others + 1)
            yield _Shared(f"{place} {setting} alike", weight, alike)


def _ids(rows: Iterable[tuple[int]]) -> frozenset[int]:
    return frozenset(number for (number,) in rows)


def _likeness(connection: sqlite3.Connection, other: int, score: float, why: tuple[str, ...]) -> Likeness:
    (name,) = connection.execute("SELECT name FROM cases WHERE id = ?", (other,)).fetchone()
    cause = connection.execute(
        "SELECT fault FROM causes WHERE case_id = ? ORDER BY rowid DESC LIMIT 1", (other,)
    ).fetchone()
    return Likeness(str(name), score, tuple(dict.fromkeys(why)), str(cause[0]) if cause else "")
