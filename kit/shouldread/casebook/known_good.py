"""What good boards read: bands compared, with how many boards stand behind each."""

from dataclasses import dataclass

from shouldread.casebook.keeper import Store


@dataclass(frozen=True, slots=True)
class KnownGood:
    """The span of good readings at a place (SI units) and the number of boards it comes from."""

    place: str
    setting: str
    state: str
    low: float
    high: float
    boards: int

    def __str__(self) -> str:
        many = "1 good board" if self.boards == 1 else f"{self.boards} good boards"
        return f"{self.place} {self.setting}: {self.low:g} to {self.high:g} ({many})"


def known_good(store: Store, board: str, setting: str) -> tuple[KnownGood, ...]:
    """Bands of all places of a board marking, in the order of the alphabet."""
    with store.connection() as connection:
        rows = connection.execute(
            "SELECT v.place, v.setting, v.state, min(v.low), max(v.high), count(DISTINCT v.case_id)"
            " FROM values_read AS v JOIN cases AS c ON c.id = v.case_id"
            " WHERE c.board = ? AND v.setting = ? AND v.good = 1"
            " GROUP BY v.place, v.setting, v.state ORDER BY v.place",
            (board, setting),
        ).fetchall()
    return tuple(KnownGood(str(p), str(s), str(t), float(a), float(b), int(n)) for p, s, t, a, b, n in rows)
