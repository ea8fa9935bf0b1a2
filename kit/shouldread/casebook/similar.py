"""Cases like this one: same board, same rails wrong, readings alike."""

from dataclasses import dataclass

from shouldread.casebook.record import Record
from shouldread.casebook.store import SqliteStore

SAME_BOARD = 3.0  # what one equal reading weighs is 1: a marking says more than a rail


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


def similar(store: SqliteStore, case: Record, limit: int) -> tuple[Likeness, ...]:
    """Rank the other cases by marking and by readings of the same place and setting that overlap."""
    with store.connection() as connection:
        rows = connection.execute(
            "SELECT o.case_id, o.place, o.setting, count(*) FROM values_read AS m"
            " JOIN values_read AS o ON o.place = m.place AND o.setting = m.setting AND o.case_id <> m.case_id"
            " WHERE m.case_id = ? AND m.good = 0 AND o.good = 0"
            "   AND o.low <= m.high + 0.1 * abs(m.high) AND o.high >= m.low - 0.1 * abs(m.low)"
            " GROUP BY o.case_id, o.place, o.setting",
            (case.id,),
        ).fetchall()
        alike: dict[int, list[str]] = {}
        for other, place, setting, _ in rows:
            alike.setdefault(int(other), []).append(f"{place} {setting} alike")
        if case.board:
            for (other,) in connection.execute(
                "SELECT id FROM cases WHERE board = ? AND id <> ? ORDER BY id DESC LIMIT 500",
                (case.board, case.id),
            ):
                alike.setdefault(int(other), []).insert(0, "same board")
        scored = sorted(
            ((sum(SAME_BOARD if w == "same board" else 1.0 for w in why), -other) for other, why in alike.items()),
            reverse=True,
        )[:limit]
        found = []
        for score, negative in scored:
            (name,) = connection.execute("SELECT name FROM cases WHERE id = ?", (-negative,)).fetchone()
            cause = connection.execute(
                "SELECT fault FROM causes WHERE case_id = ? ORDER BY rowid DESC LIMIT 1", (-negative,)
            ).fetchone()
            found.append(Likeness(str(name), score, tuple(alike[-negative]), str(cause[0]) if cause else ""))
    return tuple(found)
