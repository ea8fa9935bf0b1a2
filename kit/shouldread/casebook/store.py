"""The store: one SQLite file, one connection for each operation, every commit on the disk at once."""

import os
import sqlite3
import stat
import sys
import time
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from shouldread.casebook.keeper import Store
from shouldread.casebook.places import FAR, far_folder
from shouldread.casebook.rows import index_all
from shouldread.casebook.schema import APPLICATION_ID, VERSION, foreign_objects, migrate, version_of
from shouldread.casebook.tables import Connection
from shouldread.errors import CaseError, RequestError

PATIENCE = 10.0  # seconds to wait for another process's lock
SAID_EVERY = 2.0  # seconds between two words on how far a migration is
NEWEST = 500  # cases that are ranked: beyond that the words are too common to rank by


class SqliteStore(Store):
    """Cases and events in one file (WAL journal, full sync, readable by its owner alone)."""

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
            connection.execute("BEGIN")  # one look: another process may be making the file at this moment
            application, version = version_of(connection)
            empty = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
            connection.execute("COMMIT")
            if not empty and application != APPLICATION_ID:
                raise CaseError(f"{self.path.name} is a database, but not a casebook of this kit; choose another file")
            if version > VERSION:
                raise CaseError(
                    f"{self.path.name} is of a newer kit (form {version}, here {VERSION}): update this one"
                )
            if version < VERSION:
                _write_ahead(connection)
                migrate(connection, self._index_all)
        if os.name == "posix" and empty:
            self.path.chmod(stat.S_IRUSR | stat.S_IWUSR)
        if far := far_folder(self.path):
            warnings.warn(f"{self.path.name} lies on {far}: {FAR}", stacklevel=4)

    def _index_all(self, connection: sqlite3.Connection) -> None:
        """Look-ups of every case anew; one who waits is told how far it is."""
        begun = said = time.monotonic()

        def tell(done: int, of: int) -> None:
            nonlocal said
            now = time.monotonic()
            if now - said > SAID_EVERY or (done == of and said > begun):
                said = now
                end = "\n" if done == of else ""
                print(
                    f"\r{self.path.name}: {done} of {of} cases brought up to date",
                    end=end,
                    file=sys.stderr,
                    flush=True,
                )

        index_all(connection, tell)

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
                raise CaseError(f"{self.path.name} holds what no casebook holds ({', '.join(odd[:6])}); not opened")
            (verdict,) = connection.execute("PRAGMA quick_check").fetchone()
            if verdict != "ok":
                raise CaseError(f"{self.path.name} is damaged: {verdict}")

    def weighed(self, connection: Connection, word: str) -> tuple[int, str]:
        """In how many cases a word stands, or one of the first few that begin with it, and how FTS5 takes it.

        With all words that begin with it, unless it is common as it stands.
        """
        few = "SELECT term, doc FROM vocabulary WHERE term >= ? AND term < ? LIMIT 20"
        rows = connection.execute(few, (word, word + "\uffff")).fetchall()
        common = any(term == word and doc > NEWEST for term, doc in rows[:1])
        return sum(int(doc) for _, doc in rows), f'"{word}"' if common else f'"{word}"*'

    def lines(
        self, connection: Connection, terms: Sequence[str], limit: int, *, ranked: bool
    ) -> list[tuple[int, str]]:
        """Cases that hold all terms and the line that fits best: best first (bm25, of the newest NEWEST) or newest."""
        query = " AND ".join(terms)
        since = 0
        if ranked:
            newest = "SELECT rowid FROM words WHERE words MATCH ? ORDER BY rowid DESC LIMIT ?"
            (since,) = connection.execute(f"SELECT min(rowid) FROM ({newest})", (query, NEWEST)).fetchone()
        return connection.execute(
            "SELECT rowid, snippet(words, 0, '', '', '...', 12) FROM words WHERE words MATCH ? AND rowid >= ?"
            f" ORDER BY {'rank' if ranked else 'rowid DESC'} LIMIT ?",
            (query, since, limit),
        ).fetchall()


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Turn the journal to WAL; SQLite waits for nobody there, so that two who make a file at once would meet."""
    until = time.monotonic() + PATIENCE
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
        time.sleep(0.01)


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
