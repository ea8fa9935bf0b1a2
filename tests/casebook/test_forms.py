"""Casebooks of every earlier form open, whole; a newer one is left alone.

``old/version_N.sqlite`` was written by the kit when N was its form: two cases of the greenhouse, with a photo.
A new form means a new migration and one more file here; the old ones are never written again.
"""

import shutil
import sqlite3
from pathlib import Path

import pytest
from shouldread.casebook import Casebook
from shouldread.casebook.schema import MIGRATIONS, TABLES, VERSION, version_of
from shouldread.errors import CaseError

OLD = Path(__file__).parent / "old"


def copied(version: int, folder: Path) -> Path:
    """A copy to open: the kept file stays as it is."""
    return Path(shutil.copy(OLD / f"version_{version}.sqlite", folder / "book.sqlite"))


def objects(path: Path) -> list[tuple[str, str, str]]:
    with sqlite3.connect(path) as connection:
        rows = connection.execute("SELECT type, name, coalesce(sql, '') FROM sqlite_master").fetchall()
    connection.close()
    return sorted((str(kind), str(name), " ".join(str(sql).split())) for kind, name, sql in rows)


def test_a_file_of_every_form_is_kept() -> None:
    assert sorted(path.name for path in OLD.glob("*.sqlite")) == [f"version_{n + 1}.sqlite" for n in range(VERSION)]
    for number in range(1, VERSION + 1):
        with sqlite3.connect(f"file:{OLD / f'version_{number}.sqlite'}?mode=ro&immutable=1", uri=True) as connection:
            assert version_of(connection)[1] == number
        connection.close()


@pytest.mark.parametrize("version", range(1, VERSION + 1))
def test_an_old_casebook_opens_whole(tmp_path: Path, version: int) -> None:
    book = Casebook(copied(version, tmp_path))
    case = book.case("GC-0042")
    assert len(book) == 2 and case.board == "GH-CTRL-2B"
    assert [r.place for r in case.readings] == ["12V", "5V", "EN", "FEED", "EN"]
    assert case.photo(str(case.last("photo")["sha256"])).startswith(b"\x89PNG")  # type: ignore[index]
    assert book.cause_counts() == {"L1 open": 1, "RJ1 open": 1}
    assert [str(k) for k in book.known_good("GH-CTRL-2B")] == ["EN volts: 2.35 to 2.45 (1 good board)"]
    assert [hit.case for hit in book.search("crackt mounting")] == ["GC-0042"]
    (likeness,) = book.similar(book.case("GC-0051"))
    assert likeness.why == ("same board", "same stage", "EN volts alike", "FEED volts alike")
    case.read("EN 2.31 with after repair")
    assert len(case.readings) == 6


@pytest.mark.parametrize("version", range(1, VERSION + 1))
def test_an_old_casebook_becomes_what_a_new_one_is(tmp_path: Path, version: int) -> None:
    Casebook(tmp_path / "new.sqlite")
    Casebook(copied(version, tmp_path))
    assert objects(tmp_path / "book.sqlite") == objects(tmp_path / "new.sqlite")
    assert {name for kind, name, _ in objects(tmp_path / "new.sqlite") if kind == "table"} >= TABLES


def test_a_newer_casebook_is_left_alone_with_a_sentence(tmp_path: Path) -> None:
    path = copied(VERSION, tmp_path)
    with sqlite3.connect(path) as connection:
        connection.execute(f"PRAGMA user_version = {VERSION + 1}")
    connection.close()
    before = path.read_bytes()
    with pytest.raises(CaseError, match=f"is of a newer kit .form {VERSION + 1}, here {VERSION}.: update this one"):
        Casebook(path)
    assert path.read_bytes() == before


def test_a_form_that_looks_up_nothing_new_does_not_read_every_case_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a book of 50 000 cases that takes a minute."""
    asked: list[object] = []
    monkeypatch.setattr("shouldread.casebook.store.index_all", lambda *told: asked.append(told))
    Casebook(copied(2, tmp_path))
    assert asked == []
    Casebook(copied(1, tmp_path))
    assert len(asked) == 1


def test_a_migration_that_breaks_off_leaves_the_old_form(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever happens half-way, the file is of the old form or of the new one, never between."""
    path = copied(1, tmp_path)
    broken = (MIGRATIONS[0], *MIGRATIONS[1:-1], MIGRATIONS[-1] + "CREATE TABLE traits (trait TEXT);")
    with monkeypatch.context() as patch:
        patch.setattr("shouldread.casebook.schema.MIGRATIONS", broken)
        with pytest.raises(CaseError, match="traits already exists"):
            Casebook(path)
    assert len(Casebook(path)) == 2


def test_one_who_waits_for_a_large_book_is_told_how_far_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("shouldread.casebook.store.SAID_EVERY", -1.0)
    Casebook(copied(1, tmp_path))
    said = capsys.readouterr().err.split("\r")
    assert said[1:] == [
        "book.sqlite: 1 of 2 cases brought up to date",
        "book.sqlite: 2 of 2 cases brought up to date\n",
    ]
    Casebook(tmp_path / "book.sqlite")
    assert not capsys.readouterr().err
