"""The store: nothing shown as taken is ever lost, and somebody else's file cannot do harm."""

import sqlite3
import sys
import threading
from contextlib import closing
from pathlib import Path

import pytest
from shouldread.casebook import Casebook
from shouldread.casebook.event import Event
from shouldread.casebook.nouns import Value
from shouldread.casebook.schema import VERSION, version_of
from shouldread.casebook.store import SqliteStore
from shouldread.errors import CaseError, RequestError, UnknownNameError


@pytest.fixture
def store(tmp_path: Path) -> SqliteStore:
    return SqliteStore(tmp_path / "book.sqlite")


def opened(store: SqliteStore, name: str = "GC-1") -> int:
    return store.make_case(name, "GH-CTRL", Event("opened", {"board": "GH-CTRL"}))


def test_events_come_back_in_the_order_they_happened(store: SqliteStore) -> None:
    case = opened(store)
    for i in range(5):
        store.append(case, [Event("note", {"text": f"note {i}"})])
    assert [e.body.get("text") for e in store.events(case)[1:]] == [f"note {i}" for i in range(5)]
    with closing(sqlite3.connect(store.path)) as connection:
        assert version_of(connection)[1] == VERSION


def test_a_repeated_message_is_taken_once(store: SqliteStore) -> None:
    case = opened(store)
    event = Event("reading", {"text": "5V 0.09", "good": False}, uid="abc")
    row = Value("5V", "volts", "", 0.085, 0.095, False)
    for _ in range(3):
        store.append(case, [event], {"abc": [row]})
    assert [e.uid for e in store.events(case)].count("abc") == 1
    with store.connection() as connection:
        assert connection.execute("SELECT count(*) FROM values_read").fetchone() == (1,)


def test_a_case_made_twice_is_one_case(store: SqliteStore) -> None:
    assert opened(store, "gc-1") == opened(store, "GC-1")
    assert len(store.events(1)) == 1


@pytest.mark.parametrize(
    "event, error",
    [
        (Event("gossip", {"text": "x"}), UnknownNameError),
        (Event("note", {"text": "x", "volts": 1}), UnknownNameError),
        (Event("note", {}), RequestError),
        (Event("note", {"text": "x" * 300_000}), RequestError),
    ],
)
def test_an_event_of_unknown_form_is_refused_and_nothing_is_written(
    store: SqliteStore, event: Event, error: type[Exception]
) -> None:
    case = opened(store)
    with pytest.raises(error):
        store.append(case, [event])
    assert len(store.events(case)) == 1


def test_threads_write_side_by_side(store: SqliteStore) -> None:
    case = opened(store)

    def write(k: int) -> None:
        for i in range(20):
            store.append(case, [Event("note", {"text": f"{k}.{i}"})])

    threads = [threading.Thread(target=write, args=(k,)) for k in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(store.events(case)) == 81


def test_another_database_is_not_taken_for_a_casebook(tmp_path: Path) -> None:
    path = tmp_path / "other.sqlite"
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE plants (name TEXT)")
    connection.close()
    with pytest.raises(CaseError, match="not a casebook"):
        SqliteStore(path)


def test_a_text_file_is_not_taken_for_a_casebook(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("5V 0.09\n" * 200)
    with pytest.raises(CaseError, match="damaged or not a casebook"):
        SqliteStore(path)
    assert path.read_text().startswith("5V 0.09")


def test_a_newer_form_is_left_alone(store: SqliteStore) -> None:
    with store.connection() as connection:
        connection.execute(f"PRAGMA user_version = {VERSION + 1}")
    with pytest.raises(CaseError, match="newer kit"):
        SqliteStore(store.path)


def test_a_colleagues_file_with_a_trigger_is_refused(store: SqliteStore) -> None:
    opened(store)
    with store.connection() as connection:
        connection.execute("CREATE TRIGGER t AFTER INSERT ON events BEGIN DELETE FROM cases; END")
    with pytest.raises(CaseError, match="trigger"):
        SqliteStore(store.path, foreign=True).check_foreign()


def test_a_locked_file_says_so(store: SqliteStore, monkeypatch: pytest.MonkeyPatch) -> None:
    case = opened(store)
    monkeypatch.setattr("shouldread.casebook.store.PATIENCE", 0.05)
    other = sqlite3.connect(store.path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    try:
        with pytest.raises(CaseError, match="in use by another program"):
            store.append(case, [Event("note", {"text": "x"})])
    finally:
        other.execute("ROLLBACK")
        other.close()


def test_the_file_is_its_owners_alone(store: SqliteStore) -> None:
    assert store.path.stat().st_mode & 0o077 == 0


def test_a_casebook_on_a_server_says_which_package_it_needs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pg8000", None)
    monkeypatch.delitem(sys.modules, "shouldread.casebook.postgres", raising=False)
    with pytest.raises(CaseError, match="pip install pg8000"):
        Casebook("postgresql://shop@server/casebook")
