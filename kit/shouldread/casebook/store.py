"""The store: one SQLite file, one connection for each operation, every commit on the disk at once."""

import os
import sqlite3
import stat
import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from shouldread.casebook.event import Event
from shouldread.casebook.nouns import Adopted, Incoming, Value
from shouldread.casebook.places import FAR, far_folder
from shouldread.casebook.rows import adopt_case, append_events, index_all, read_events
from shouldread.casebook.schema import APPLICATION_ID, VERSION, foreign_objects, migrate, version_of
from shouldread.errors import CaseError, RequestError

PATIENCE = 10.0  # seconds to wait for another process's lock


class SqliteStore:
    """Cases and events in one file (WAL journal, full sync, readable by its owner alone).

    Safe from several threads and processes: nothing is kept open between two calls.
    """

    def __init__(self, path: Path, *, foreign: bool = False) -> None:
        self.path = path
        self._read_only = foreign
        if not foreign:
            self._create()

    def _create(self) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError as error:
            raise CaseError(_sentence(self.path, error), value=str(self.path)) from error
        with self.connection() as connection:
            application, version = version_of(connection)
            empty = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
            if not empty and application != APPLICATION_ID:
                raise CaseError(f"{self.path.name} is a database, but not a casebook of this kit; choose another file")
            if version > VERSION:
                raise CaseError(
                    f"{self.path.name} is of a newer kit (form {version}, here {VERSION}): update this one"
                )
            if version < VERSION:
                connection.execute("PRAGMA journal_mode = WAL")
                migrate(connection, index_all)
        if os.name == "posix" and empty:
            self.path.chmod(stat.S_IRUSR | stat.S_IWUSR)
        if far := far_folder(self.path):
            warnings.warn(f"{self.path.name} lies on {far}: {FAR}", stacklevel=4)

    @contextmanager
    def connection(self) -> Iterator[sqlite3.Connection]:
        """A connection that lives for one operation; trouble with the file becomes a CaseError."""
        where = f"{self.path.absolute().as_uri()}?{self._mode()}"
        try:
            connection = sqlite3.connect(where, timeout=PATIENCE, isolation_level=None, uri=True)
        except sqlite3.Error as error:
            raise CaseError(_sentence(self.path, error), value=str(self.path)) from error
        try:
            connection.execute("PRAGMA synchronous = FULL")
            connection.execute("PRAGMA foreign_keys = ON")
            connection.execute("PRAGMA trusted_schema = OFF")
            yield connection
        except UnicodeEncodeError as error:
            raise RequestError("a sign in it cannot be shown: type it again without", value=error.object) from error
        except sqlite3.Error as error:
            raise CaseError(_sentence(self.path, error), value=str(self.path)) from error
        finally:
            connection.close()

    def _mode(self) -> str:
        """A colleague's file is not touched at all, unless a journal beside it holds the last of it."""
        if not self._read_only:
            return "mode=rwc"
        return "mode=ro" if Path(f"{self.path}-wal").exists() else "mode=ro&immutable=1"

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction: all of it is on the disk when the block ends, or none of it is."""
        with self.connection() as connection:
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
            except BaseException:
                if connection.in_transaction:  # a full disk has rolled back already
                    connection.execute("ROLLBACK")
                raise
            connection.execute("COMMIT")

    def check_foreign(self) -> None:
        """Refuse a colleague's file that is damaged or holds anything but our tables."""
        with self.connection() as connection:
            application, version = version_of(connection)
            if application != APPLICATION_ID or not 1 <= version <= VERSION:
                raise CaseError(f"{self.path.name} is not a casebook this kit can read")
            if odd := foreign_objects(connection):
                raise CaseError(f"{self.path.name} holds what no casebook holds ({', '.join(odd[:3])}); not opened")
            (verdict,) = connection.execute("PRAGMA quick_check").fetchone()
            if verdict != "ok":
                raise CaseError(f"{self.path.name} is damaged: {verdict}")

    def find_case(self, name: str) -> tuple[int, str, str] | None:
        """(id, name, board) of a case, whatever the case of its letters."""
        with self.connection() as connection:
            row = connection.execute("SELECT id, name, board FROM cases WHERE name = ?", (name,)).fetchone()
        return (int(row[0]), str(row[1]), str(row[2])) if row else None

    def make_case(self, name: str, board: str, event: Event) -> int:
        """A new case with its opening event; one made meanwhile by somebody else is taken as it is."""
        with self.writing() as connection:
            connection.execute(
                "INSERT OR IGNORE INTO cases(name, board, opened) VALUES (?, ?, ?)",
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
                connection.execute("INSERT OR IGNORE INTO photos VALUES (?, ?)", (sha256, png))
            return tuple(adopt_case(connection, case) for case in cases)

    def events(self, case_id: int) -> tuple[Event, ...]:
        """Everything that happened in a case, oldest first."""
        with self.connection() as connection:
            return read_events(connection, case_id)

    def cases(self) -> list[tuple[int, str, str, str]]:
        """(id, name, board, opened) of every case, newest first."""
        with self.connection() as connection:
            return connection.execute("SELECT id, name, board, opened FROM cases ORDER BY id DESC").fetchall()

    def keep_photo(self, sha256: str, png: bytes) -> None:
        """Store a picture once, whatever the number of cases that show it."""
        with self.writing() as connection:
            connection.execute("INSERT OR IGNORE INTO photos VALUES (?, ?)", (sha256, png))

    def photo(self, sha256: str) -> bytes:
        """The stored picture as PNG bytes."""
        with self.connection() as connection:
            row = connection.execute("SELECT png FROM photos WHERE sha256 = ?", (sha256,)).fetchone()
        if row is None:
            raise CaseError(f"the photo {sha256[:12]} is not in {self.path.name}")
        return bytes(row[0])


def _sentence(path: Path, error: Exception) -> str:
    """What a technician can do about trouble with the file."""
    words = str(error).lower()
    if "locked" in words or "busy" in words:
        return f"{path.name} is in use by another program: close that and enter the line again"
    if "full" in words:
        return "the disk is full: make room and enter the line again"
    if "disk i/o" in words:
        return (
            f"the disk does not take {path.name}: is it full, or was it taken out? Mend that and enter the line again"
        )
    if "readonly" in words or "read-only" in words or "unable to open" in words or isinstance(error, OSError):
        return f"the casebook {path} cannot be written: check the folder's rights, or open another path"
    if "malformed" in words or "not a database" in words:
        return f"{path.name} is damaged or not a casebook ({error}); restore a copy, or open another file"
    return f"the casebook {path.name}: {error}"
