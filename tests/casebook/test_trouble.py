"""When things go wrong under the casebook: killed, full, read-only, locked. Nothing shown as taken is lost."""

import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Thread, Timer

import pytest
from shouldread.casebook import Casebook
from shouldread.casebook import places as places_module
from shouldread.casebook import store as store_module
from shouldread.casebook.places import far_folder
from shouldread.casebook.store import SqliteStore
from shouldread.errors import CaseError

HERE = Path(__file__).parent
POSIX = sys.platform != "win32"


def run(*arguments: str, timeout: float = 120) -> str:
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    told = subprocess.run([sys.executable, *arguments], capture_output=True, text=True, env=env, timeout=timeout)
    assert told.returncode == 0, told.stdout[-2000:] + told.stderr[-4000:]
    return told.stdout


@pytest.mark.parametrize("rounds", [10, pytest.param(250, marks=pytest.mark.long)])
def test_killed_at_random_moments_loses_nothing_that_was_shown_as_taken(tmp_path: Path, rounds: int) -> None:
    """Two processes a round: 20 kills, 500 in the long run; the first ones come while the file is being made."""
    kills, taken, busy = map(
        int, run(str(HERE / "killing.py"), str(tmp_path / "b.sqlite"), str(rounds), timeout=900).split()
    )
    assert kills == 2 * rounds
    assert taken > rounds and busy > rounds // 3, "most rounds end while somebody is typing"


def test_a_book_made_by_another_at_this_moment_is_taken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two open the same new book at once: one of them comes between the other's looks at the file."""
    path = tmp_path / "book.sqlite"
    plain = store_module.version_of
    others: list[Thread] = []

    def interrupted(connection: sqlite3.Connection) -> tuple[int, int]:
        seen = plain(connection)
        if not others:
            others.append(Thread(target=SqliteStore, args=(path,)))
            others[0].start()
            others[0].join(0.5)
        return seen

    monkeypatch.setattr(store_module, "version_of", interrupted)
    book = Casebook(path)
    others[0].join()
    assert len(book.open("GC-1").read("5V 5.02")) == 1


def test_a_book_that_another_looks_into_is_made_when_that_is_done(tmp_path: Path) -> None:
    """SQLite turns to a write-ahead log at once or not at all (sqlite.org/pragma.html#pragma_journal_mode)."""
    path = tmp_path / "book.sqlite"
    other = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN")
    other.execute("SELECT count(*) FROM sqlite_master").fetchone()
    done = Timer(0.3, other.execute, ("COMMIT",))
    done.start()
    assert len(Casebook(path).open("GC-1").read("5V 5.02")) == 1
    done.join()
    other.close()
    with sqlite3.connect(path) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    connection.close()


@contextmanager
def no_more_room(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """SQLite finds no free page, as on a full disk (SQLITE_FULL)."""
    plain = SqliteStore.connection

    @contextmanager
    def full(store: SqliteStore) -> Iterator[sqlite3.Connection]:
        with plain(store) as connection:
            connection.execute("PRAGMA max_page_count = 1")
            yield connection

    with monkeypatch.context() as patch:
        patch.setattr(SqliteStore, "connection", full)
        yield


def test_a_full_disk_says_so_and_the_line_can_be_entered_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = Casebook(tmp_path / "book.sqlite").open("GC-1")
    case.read("5V 5.02")
    long = "; ".join(f"P{i} {i}.5" for i in range(800))
    with (
        no_more_room(monkeypatch),
        pytest.raises(CaseError, match="the disk is full: make room and enter the line again"),
    ):
        case.read(long)
    assert [r.place for r in case.readings] == ["5V"]
    assert len(case.read(long)) == 800 and len(case.readings) == 801


LIMITED = """
import resource, sys
from pathlib import Path
from shouldread.casebook import Casebook
from shouldread.errors import CaseError
path = Path(sys.argv[1])
case = Casebook(path).open("GC-1")
resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size + 400_000,) * 2)
taken = 0
try:
    for taken in range(10_000):
        case.note("n" * 20_000)
except CaseError as trouble:
    print(taken, len(case.events), trouble)
"""


def test_a_disk_that_takes_no_more_says_so(tmp_path: Path) -> None:
    """The system refuses to let the file grow: what was taken before stands, the book is whole."""
    if not POSIX:
        return
    path = tmp_path / "book.sqlite"
    taken, events, said = run("-c", LIMITED, str(path)).split(" ", 2)
    assert 0 < int(taken) and int(events) == int(taken) + 1
    assert "is it full" in said and "enter the line again" in said
    case = Casebook(path).case("GC-1")
    case.note("there is room again")
    assert len(case.events) == int(taken) + 2
    with sqlite3.connect(path) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()


READ_ONLY = """
import os, sys
from pathlib import Path
from shouldread.casebook import Casebook
from shouldread.errors import CaseError
if os.getuid() == 0:
    os.setuid(65534)  # the system's user without rights
for name in ("new.sqlite", "old.sqlite", "deeper/new.sqlite"):
    try:
        Casebook(Path(sys.argv[1]) / name).open("GC-1").read("5V 5.02")
        print("taken")
    except CaseError as trouble:
        print(trouble)
"""


def test_a_folder_without_rights_says_what_to_do() -> None:
    if not POSIX:
        return
    with TemporaryDirectory() as folder:  # not tmp_path: another user must reach it
        Casebook(Path(folder) / "old.sqlite").open("GC-1").note("kept")
        (Path(folder) / "old.sqlite").chmod(0o444)
        Path(folder).chmod(0o555)
        said = run("-c", READ_ONLY, folder).splitlines()
        Path(folder).chmod(0o755)
        assert len(said) == 3
        assert all("cannot be written: check the folder's rights, or open another path" in line for line in said), said
        assert len(Casebook(Path(folder) / "old.sqlite").case("GC-1").events) == 2


def test_a_file_locked_by_another_says_so_and_the_line_can_be_entered_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = Casebook(tmp_path / "book.sqlite").open("GC-1")
    monkeypatch.setattr("shouldread.casebook.store.PATIENCE", 0.05)
    other = sqlite3.connect(tmp_path / "book.sqlite", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(CaseError, match="in use by another program: close that and enter the line again"):
        case.read("5V 5.02")
    assert case.readings == ()  # reading goes on meanwhile
    other.execute("ROLLBACK")
    other.close()
    assert len(case.read("5V 5.02")) == 1


def test_a_shared_file_of_another_owner_keeps_its_rights(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    Casebook(path)
    path.chmod(0o660)
    Casebook(path)
    assert not POSIX or path.stat().st_mode & 0o777 == 0o660


@pytest.mark.parametrize(
    "mounts, far",
    [
        ("/dev/sda1 / ext4 rw 0 0\n", ""),
        ("/dev/sda1 / ext4 rw 0 0\nserver:/shop {folder} nfs4 rw 0 0\n", "a network drive (nfs4)"),
        ("/dev/sda1 / ext4 rw 0 0\n//server/shop {folder} cifs rw 0 0\ntmpfs {folder}/b tmpfs rw 0 0\n", "a network drive (cifs)"),
    ],
)  # fmt: skip
def test_a_network_drive_is_warned_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, mounts: str, far: str) -> None:
    """A write-ahead log does not work over a network file system (sqlite.org/wal.html)."""
    if not POSIX:
        return
    monkeypatch.setattr(places_module, "MOUNTS", tmp_path / "mounts")
    folder = tmp_path / "shop"
    (tmp_path / "mounts").write_text(mounts.format(folder=folder))
    assert far_folder(folder / "book.sqlite") == far
    if far:
        with pytest.warns(UserWarning, match="keep the casebook on a disk of this computer"):
            Casebook(folder / "book.sqlite")
