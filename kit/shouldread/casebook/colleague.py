"""A colleague's casebook file: opened read-only, held to our own form, read row by row; never attached, never run."""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

from shouldread.casebook.doubt import Unpacked, checked_case
from shouldread.casebook.form import FORM
from shouldread.casebook.store import SqliteStore
from shouldread.casebook.unpack import LARGEST, LARGEST_CASE, document_in
from shouldread.errors import CaseError, KitError, RequestError

MAGIC = b"SQLite format 3\x00"


def is_casebook(path: Path) -> bool:
    """Whether a file is an SQLite file at all. Raises CaseError when it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(len(MAGIC)) == MAGIC
    except OSError as error:
        raise CaseError(f"{path.name} cannot be read: {error.strerror}", value=str(path)) from error


def cases_of(path: Path) -> Iterator[Unpacked]:
    """The cases of somebody's casebook, each checked whole. Raises CaseError with the case and the reason."""
    store = SqliteStore(path, foreign=True)
    store.check_foreign()
    with store.connection() as connection:
        for case_id, name in connection.execute("SELECT id, name FROM cases ORDER BY id").fetchall():
            try:
                yield _case(connection, case_id, name)
            except KitError as trouble:
                said = " ".join(str(trouble).split())[:300]
                raise CaseError(f"{path.name}, case {ascii(name)[:80]}: {said}; nothing was taken in") from trouble


def _case(connection: sqlite3.Connection, case_id: object, name: object) -> Unpacked:
    def photo(named: str) -> bytes:
        row = connection.execute(
            "SELECT CAST(png AS BLOB) FROM photos WHERE sha256 = ? AND length(png) <= ?", (named, LARGEST)
        ).fetchone()
        if row is None:
            raise RequestError(f"its photo {named[:12]} is not in the casebook")
        return bytes(row[0])

    (size,) = connection.execute("SELECT total(length(body)) FROM events WHERE case_id = ?", (case_id,)).fetchone()
    if size > LARGEST_CASE:
        raise RequestError(f"larger than {LARGEST_CASE // 1_000_000} MB")
    rows = connection.execute(
        "SELECT uid, at, kind, CAST(body AS BLOB) FROM events WHERE case_id = ? ORDER BY seq", (case_id,)
    )
    events = [{"uid": u, "at": a, "kind": k, "body": document_in(bytes(b or b""))} for u, a, k, b in rows]
    return checked_case({"form": FORM, "name": name, "board": "", "events": events}, photo)
