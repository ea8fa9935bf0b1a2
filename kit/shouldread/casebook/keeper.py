"""What every store does, whatever database holds the rows: the same statements, in one transaction each."""

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from pathlib import Path

from shouldread.casebook.event import Event
from shouldread.casebook.nouns import Adopted, Incoming, Value
from shouldread.casebook.rows import adopt_case, append_events, read_events
from shouldread.casebook.tables import Connection
from shouldread.errors import CaseError


class Store(ABC):
    """Cases and events in a database. Safe from several threads and processes: nothing is kept open between calls."""

    path: Path

    @abstractmethod
    def connection(self) -> AbstractContextManager[Connection]:
        """A connection that lives for one operation; trouble with the database becomes a CaseError."""

    @abstractmethod
    def writing(self) -> AbstractContextManager[Connection]:
        """One transaction: all of it is on the disk when the block ends, or none of it is."""

    @abstractmethod
    def weighed(self, connection: Connection, word: str) -> tuple[int, str]:
        """In how many cases a word stands, or one that begins with it (beyond a few hundred about), and its term."""

    @abstractmethod
    def lines(
        self, connection: Connection, terms: Sequence[str], limit: int, *, ranked: bool
    ) -> list[tuple[int, str]]:
        """Cases that hold all terms and the line that fits best, best first or newest first."""

    def find_case(self, name: str) -> tuple[int, str, str] | None:
        """(id, name, board) of a case, whatever the case of its letters."""
        with self.connection() as connection:
            row = connection.execute("SELECT id, name, board FROM cases WHERE name = ?", (name,)).fetchone()
        return (int(row[0]), str(row[1]), str(row[2])) if row else None

    def make_case(self, name: str, board: str, event: Event) -> int:
        """A new case with its opening event; one made meanwhile by somebody else is taken as it is."""
        with self.writing() as connection:
            connection.execute(
                "INSERT INTO cases(name, board, opened) VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
                (name, board, event.at.isoformat()),
            )
            (case_id,) = connection.execute("SELECT id FROM cases WHERE name = ?", (name,)).fetchone()
            if connection.execute("SELECT 1 FROM events WHERE case_id = ?", (case_id,)).fetchone() is None:
                append_events(connection, int(case_id), [event], {})
        return int(case_id)

    def append(
        self, case_id: int, events: Sequence[Event], values: Mapping[str, Sequence[Value]] | None = None
    ) -> None:
        """Write events (a known uid is a no-op) and, in the same transaction, what looking up needs of them.

        ``values``: the readings of an event by its uid.
        """
        with self.writing() as connection:
            append_events(connection, case_id, events, values or {})

    def adopt(self, cases: Sequence[Incoming], photos: Mapping[str, bytes]) -> tuple[Adopted, ...]:
        """Take cases in, in one transaction. The same case (its first event is known) gets what it lacks."""
        with self.writing() as connection:
            for sha256, png in photos.items():
                connection.execute("INSERT INTO photos VALUES (?, ?) ON CONFLICT DO NOTHING", (sha256, png))
            return tuple(adopt_case(connection, case) for case in cases)

    def events(self, case_id: int) -> tuple[Event, ...]:
        """Everything that happened in a case, oldest first."""
        with self.connection() as connection:
            return read_events(connection, case_id)

    def cases(self) -> list[tuple[int, str, str, str]]:
        """(id, name, board, opened) of every case, newest first."""
        with self.connection() as connection:
            rows = connection.execute("SELECT id, name, board, opened FROM cases ORDER BY id DESC").fetchall()
        return [(int(number), str(name), str(board), str(opened)) for number, name, board, opened in rows]

    def keep_photo(self, sha256: str, png: bytes) -> None:
        """Store a picture once, whatever the number of cases that show it."""
        with self.writing() as connection:
            connection.execute("INSERT INTO photos VALUES (?, ?) ON CONFLICT DO NOTHING", (sha256, png))

    def photo(self, sha256: str) -> bytes:
        """The stored picture as PNG bytes."""
        with self.connection() as connection:
            row = connection.execute("SELECT png FROM photos WHERE sha256 = ?", (sha256,)).fetchone()
        if row is None:
            raise CaseError(f"the photo {sha256[:12]} is not in {self.path.name}")
        return bytes(row[0])
