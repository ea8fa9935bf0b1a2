"""Cases like this one: same marking, same stage, same rail wrong first, readings alike. The rarer, the more it says."""

import math
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from shouldread.casebook.keeper import Store
from shouldread.casebook.record import Record
from shouldread.casebook.schema import NARROW, SHARE, SLACK
from shouldread.casebook.tables import Connection

SAME_BOARD, SAME_STAGE, SAME_RAIL = 3.0, 2.0, 2.0  # a reading that only one other case shares weighs 1
MOST = 2000  # cases that share something and are still worth scoring one by one
COMMON = 10_000  # beyond this many, a thing is common, however many more share it
SHORT_LIST = 60
READINGS = 40  # of this case, from the first: those before the repair
LIMIT = 1.7e308  # below any reading
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
    """Something this case has: how much it says, where the others that have it stand, and how many those are."""

    words: str
    weight: float
    place: "_Place"
    values: tuple[object, ...]
    count: int

    def cases(self, connection: Connection) -> set[int]:
        """The cases that have it, at most MOST."""
        return _numbers(connection, f"{self.place.query} LIMIT {MOST}", self.values)

    def among(self, connection: Connection, cases: Collection[int]) -> set[int]:
        """Those of some cases that have it."""
        place = self.place
        query = f"SELECT {place.column} FROM {place.table} {place.by_case} WHERE {place.holds}"
        return _numbers(connection, f"{query} AND {place.column} IN ({','.join(map(str, cases))})", self.values)


class _Place(NamedTuple):
    """Where to look something up: a table, its column of cases, a condition, and the index of its cases."""

    table: str
    column: str
    holds: str
    by_case: str = ""

    @property
    def query(self) -> str:
        return f"SELECT {self.column} FROM {self.table} WHERE {self.holds}"


BOARD = _Place("cases", "id", "board = ? AND id <> ?")
TRAIT = _Place("traits", "case_id", "trait = ? AND case_id <> ?")
_ALIKE = "place = ? AND setting = ? AND good = 0 AND {} AND low BETWEEN ? AND ? AND high >= ? AND case_id <> ?"
_BY_CASE = "INDEXED BY values_of_case"
NARROW_READING = _Place("values_read", "case_id", _ALIKE.format(NARROW), _BY_CASE)
WIDE_READING = _Place("values_read", "case_id", _ALIKE.format(f"NOT ({NARROW})"), _BY_CASE)


def _numbers(connection: Connection, query: str, values: tuple[object, ...]) -> set[int]:
    return {number for (number,) in connection.execute(query, values)}


def similar(store: Store, case: Record, limit: int) -> tuple[Likeness, ...]:
    """Rank the other cases by what they share with this one; what nearly every case shares counts for little.

    Cases are found by what few share; what many share is looked up for the best of those only.
    """
    with store.connection() as connection:
        shared = [s for s in _shared(connection, case) if s.count]
        if not shared:
            return ()
        telling = [s for s in shared if s.count <= MOST] or [min(shared, key=lambda s: s.count)]
        found = {id(s): s.cases(connection) for s in telling}
        best = _best(telling, found)[: max(SHORT_LIST, limit)]
        found |= {id(s): s.among(connection, best) for s in shared if id(s) not in found}
        kept = set(best)
        scores = {n: sum({s.words: s.weight for s in shared if n in found[id(s)]}.values()) for n in kept}
        ranked = sorted(kept, key=lambda other: (-scores[other], -other))[:limit]
        return tuple(
            _likeness(connection, n, scores[n], tuple(s.words for s in shared if n in found[id(s)])) for n in ranked
        )


def _best(telling: Iterable[_Shared], found: Mapping[int, set[int]]) -> list[int]:
    scores: dict[int, float] = {}
    for one in telling:
        for other in found[id(one)]:
            scores[other] = scores.get(other, 0.0) + one.weight
    return sorted(scores, key=lambda other: (-scores[other], -other))


def _shared(connection: Connection, case: Record) -> Iterator[_Shared]:
    (others,) = connection.execute("SELECT max(id) - 1 FROM cases").fetchone()  # about: no case is ever deleted

    def counted(words: str, weight: float, place: _Place, *values: object) -> _Shared:
        counting = f"SELECT count(*) FROM ({place.query} LIMIT {COMMON}) AS few"
        (count,) = connection.execute(counting, values).fetchone()
        rarity = math.log((others + 1) / min(max(count, 1), others)) / math.log(others + 1) if others else 0.0
        return _Shared(words, weight or rarity, place, values, int(count))

    if case.board:
        yield counted("same board", SAME_BOARD, BOARD, case.board, case.id)
    traits = connection.execute(
        "SELECT trait FROM traits WHERE case_id = ? ORDER BY trait DESC", (case.id,)
    ).fetchall()
    for (trait,) in traits:
        sort, _, rest = str(trait).partition(" ")
        rail, _, verdict = rest.partition(" ")
        words = "same stage" if sort == "stage" else f"{rail.upper()} {verdict} first"
        yield counted(words, SAME_STAGE if sort == "stage" else SAME_RAIL, TRAIT, trait, case.id)
    mine = connection.execute(
        "SELECT v.place, v.setting, v.low, v.high FROM values_read AS v JOIN events AS e ON e.uid = v.event_uid"
        " WHERE v.case_id = ? AND v.good = 0 GROUP BY v.place, v.setting, v.low, v.high"
        " ORDER BY min(e.seq), v.place LIMIT ?",
        (case.id, READINGS),
    ).fetchall()
    for place, setting, low, high in mine:
        most, least = high + NEAR * abs(high), low - NEAR * abs(low)
        words = f"{place} {setting} alike"
        yield counted(words, 0.0, NARROW_READING, place, setting, _lowest(least), most, least, case.id)
        yield counted(words, 0.0, WIDE_READING, place, setting, -LIMIT, most, least, case.id)


def _lowest(high: float) -> float:
    """The least low end of a narrow reading that reaches up to ``high``: low + SLACK + SHARE |low| >= high."""
    rest = high - SLACK
    return max(rest / (1 + SHARE) if rest >= 0 else rest / (1 - SHARE), -LIMIT)


def _likeness(connection: Connection, other: int, score: float, why: tuple[str, ...]) -> Likeness:
    (name,) = connection.execute("SELECT name FROM cases WHERE id = ?", (other,)).fetchone()
    cause = connection.execute(
        "SELECT c.fault FROM causes AS c JOIN events AS e ON e.uid = c.event_uid WHERE c.case_id = ?"
        " ORDER BY e.seq DESC LIMIT 1",
        (other,),
    ).fetchone()
    return Likeness(str(name), score, tuple(dict.fromkeys(why)), str(cause[0]) if cause else "")
