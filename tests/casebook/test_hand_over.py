"""Cases go to colleagues as one archive and come in once; a hostile archive is refused with a reason."""

import csv
import io
import json
import time
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft7Validator
from PIL import Image
from shouldread.casebook import Case, Casebook
from shouldread.casebook.archive import document_of
from shouldread.casebook.form import SCHEMA
from shouldread.errors import CaseError, KitError

Change = Callable[[dict[str, Any]], object]


def full_case(book: Casebook, folder: Path, name: str = "GC-0042") -> Case:
    case = book.open(name, board="GH-CTRL-2", symptom="nothing spins", customer="A. Grower", serial="SN-7")
    case.supply(volts=12, limit=0.5, amps=0.02, limiting=False, fed="12V")
    case.sheet("12V nominal 12 ± 5 %\n5V from 12V made by U3")
    case.read("12V 12.1; 5V 0.05", rails=True)
    case.use("two_feed_enable")
    case.read("EN 0.02; FEED 0.58")
    case.read("EN 2.4", good=True)
    case.note("wrong line")
    case.undo()
    case.observe("L1 cracked")
    picture = folder / "board.jpg"
    Image.effect_mandelbrot((320, 200), (-2, -1, 1, 1), 20).convert("RGB").save(picture)
    case.attach(picture, marks=[(0.5, 0.25, "cracked here")], about="L1 beside the mounting hole")
    case.did("L1 replaced", part="10 µH", lot="2209")
    case.mark("GH-CTRL-2B")
    case.cause("L1 open", class_="wear", confidence="sure", why="cracked")
    case.confirmed("L1 bridged: FEED 12.1, EN 2.3", fault="L1 open")
    case.test("power-up not limiting; FEED 12.0 at 0.02 A; EN 2.3")
    case.proved("all rails right", amps=0.42, minutes=30)
    case.close()
    case.reopen("hums")
    return case


@pytest.fixture
def ours(tmp_path: Path) -> Casebook:
    return Casebook(tmp_path / "ours.sqlite")


@pytest.fixture
def theirs(tmp_path: Path) -> Casebook:
    return Casebook(tmp_path / "theirs.sqlite")


@pytest.fixture
def archive(theirs: Casebook, tmp_path: Path) -> Path:
    full_case(theirs, tmp_path)
    theirs.export_cases(tmp_path / "cases.zip")
    return tmp_path / "cases.zip"


def test_a_case_comes_over_whole(ours: Casebook, theirs: Casebook, archive: Path, tmp_path: Path) -> None:
    assert str(ours.import_cases(archive)) == "1 new, 0 grown, 0 known already"
    here, there = ours.case("GC-0042"), theirs.case("GC-0042")
    assert str(here) == str(there) and "Grower" not in str(there) and here.board == "GH-CTRL-2B"
    assert here.readings == there.readings and here.text == there.text
    assert [(e.uid, e.at, e.kind) for e in here.events] == [(e.uid, e.at, e.kind) for e in there.events]
    assert here.photo(str(here.last("photo")["sha256"]))  # type: ignore[index]
    assert ours.cause_counts() == {"L1 open": 1}
    assert [str(k) for k in ours.known_good("GH-CTRL-2B")] == [str(k) for k in theirs.known_good("GH-CTRL-2B")] != []
    assert [hit.case for hit in ours.search("cracked mounting")] == ["GC-0042"]
    assert [p.suffix for p in here.write_up(tmp_path / "out")][:2] == [".html", ".md"]


def test_every_kind_of_event_is_in_the_example_and_fits_the_published_schema(theirs: Casebook, tmp_path: Path) -> None:
    """Checked by the jsonschema library against the whole schema, as another program would read it."""
    case = full_case(theirs, tmp_path)
    case.trace("R1 12V to EN 10k", name="enable")
    case.symptom("hums when warm")
    document = json.loads(json.dumps(document_of(case, private=True)))
    Draft7Validator.check_schema(SCHEMA)
    assert not list(Draft7Validator(SCHEMA).iter_errors(document))
    assert {e["kind"] for e in document["events"]} == set(SCHEMA["definitions"]) - {"uid", "event"}


def test_customer_and_serial_stay_here_unless_asked_for(ours: Casebook, theirs: Casebook, archive: Path) -> None:
    assert b"Grower" not in zipfile.ZipFile(archive).read("cases/000001.json")
    theirs.export_cases(archive, private=True)
    ours.import_cases(archive)
    assert ours.case("GC-0042").events[0].body["customer"] == "A. Grower"


def test_the_same_cases_give_the_same_file(theirs: Casebook, archive: Path, tmp_path: Path) -> None:
    theirs.export_cases(tmp_path / "again.zip")
    assert (tmp_path / "again.zip").read_bytes() == archive.read_bytes()


def test_twice_is_once_and_a_grown_case_gets_what_it_lacks(ours: Casebook, theirs: Casebook, archive: Path) -> None:
    ours.import_cases(archive)
    events = ours.case("GC-0042").events
    assert ours.import_cases(archive).known == ("GC-0042",)
    assert ours.case("GC-0042").events == events
    theirs.case("GC-0042").note("hum was the fan")
    theirs.export_cases(archive)
    assert ours.import_cases(archive).grown == ("GC-0042",)
    assert len(ours.case("GC-0042").events) == len(events) + 1 and len(ours) == 1


def test_another_case_of_the_same_name_keeps_its_own(ours: Casebook, archive: Path) -> None:
    ours.open("GC-0042", board="OTHER").read("5V 5.01")
    assert ours.import_cases(archive).renamed == (("GC-0042", "GC-0042 (2)"),)
    assert ours.case("GC-0042").board == "OTHER" and ours.case("GC-0042 (2)").board == "GH-CTRL-2B"
    assert ours.import_cases(archive).known == ("GC-0042 (2)",)


# -- hostile archives ------------------------------------------------------------------------------------
def rewritten(archive: Path, change: Change) -> Path:
    """The archive with its case changed."""
    with zipfile.ZipFile(archive) as old:
        entries = {name: old.read(name) for name in old.namelist()}
    document = json.loads(entries["cases/000001.json"])
    changed = change(document)
    text = changed if isinstance(changed, str) else json.dumps(document)
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as new:
        for name, data in (entries | {"cases/000001.json": text.encode("utf-8", "surrogatepass")}).items():
            new.writestr(name, data)
    return archive


def event(kind: str, **body: object) -> dict[str, object]:
    return {"uid": "x1", "at": "2026-01-01T00:00:00+00:00", "kind": kind, "body": body}


HOSTILE: dict[str, tuple[Change, str]] = {
    "not JSON": (lambda d: "{", "no JSON"),
    "nested deep": (lambda d: "[" * 100_000, "no JSON"),
    "a list": (lambda d: "[1]", "JSON object"),
    "not a number": (lambda d: json.dumps(d).replace('"amps": 0.02', '"amps": NaN'), "no number"),
    "beyond all floats": (lambda d: json.dumps(d).replace('"amps": 0.02', '"amps": 1e999'), "no number"),
    "a million digits": (lambda d: json.dumps(d).replace('"amps": 0.02', '"amps": ' + "9" * 1_000_000), "no number"),
    "text for a number": (lambda d: d["events"][1]["body"].update(amps="=1+1"), r"events\[1\]\.body\.amps"),
    "negative minutes": (lambda d: d["events"].append(event("proved", text="x", minutes=-1)), "minutes"),
    "unknown kind": (lambda d: d["events"].append(event("run", text="x")), "kind"),
    "unknown detail": (lambda d: d["events"].append(event("note", text="x", html="<b>")), "html"),
    "no detail": (lambda d: d["events"].append(event("note")), "text"),
    "more at the top": (lambda d: d.update(trigger="x"), "trigger"),
    "another form": (lambda d: d.update(form="shouldread case 2"), "form"),
    "no events": (lambda d: d.update(events=[]), "events"),
    "too many events": (lambda d: d.update(events=[event("note", text="x")] * 20_001), "events"),
    "a name with a line break": (lambda d: d.update(name="GC\n1"), "name"),
    "a name with a direction sign": (lambda d: d.update(name="GC\u202e1"), "name"),
    "an empty name": (lambda d: d.update(name="  "), "name"),
    "a long name": (lambda d: d.update(name="x" * 81), "name"),
    "half a character": (lambda d: d["events"].append(event("note", text="\ud800")), "cannot be shown"),
    "a control sign": (lambda d: d["events"].append(event("note", text="\x1b[2J")), "cannot be shown"),
    "a bomb of a text": (lambda d: d["events"].append(event("note", text="x" * 300_000)), "text"),
    "a uid with a break": (lambda d: d["events"].append({**event("note", text="x"), "uid": "x\n"}), "uid|event id"),
    "a uid twice": (lambda d: d["events"].extend([event("note", text="x")] * 2), "same uid"),
    "a day that is none": (
        lambda d: d["events"].append({**event("note", text="x"), "at": "2026-02-31T00:00:00Z"}),
        "day",
    ),
    "a local time": (lambda d: d["events"].append({**event("note", text="x"), "at": "2026-01-01T00:00:00"}), "at"),
    "opened twice": (lambda d: d["events"].append(event("opened", board="x")), "begins with one"),
    "a circuit that is none": (
        lambda d: d["events"].append(event("circuit", text="t\n.control\nshell ls\n")),
        "control",
    ),
    "a circuit that reads a file": (
        lambda d: d["events"].append(event("circuit", text="t\n.include /etc/passwd\nR1 A 0 1k\n")),
        "include",
    ),
    "a reading that is none": (lambda d: d["events"].append(event("reading", text="5V 9**9**9**9")), "5V"),
    "a photo that is not there": (lambda d: d["events"].append(event("photo", sha256="0" * 64)), "photo"),
    "a photo by a path": (lambda d: d["events"].append(event("photo", sha256="../../etc/passwd")), "sha256"),
    "a mark beside the photo": (
        lambda d: next(e for e in d["events"] if e["kind"] == "photo")["body"].update(marks=[[7, 0, "x"]]),
        "marks",
    ),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_a_hostile_case_is_refused_with_the_reason(ours: Casebook, archive: Path, what: str) -> None:
    change, reason = HOSTILE[what]
    begun = time.process_time()
    with pytest.raises(CaseError, match=reason) as told:
        ours.import_cases(rewritten(archive, change))
    assert "nothing was taken in" in str(told.value) and len(str(told.value)) < 500
    assert "root:" not in str(told.value)
    assert len(ours) == 0
    assert time.process_time() - begun < 5


ODD_NAMES = ["../x.json", "/etc/cron.d/x", "cases/../x.json", "C:\\x.json", "cases\\1.json", "cases/1.json/", "x.exe"]


@pytest.mark.parametrize("name", ODD_NAMES)
def test_an_entry_by_another_name_is_refused_and_nothing_is_written(
    ours: Casebook, archive: Path, tmp_path: Path, name: str
) -> None:
    with zipfile.ZipFile(archive, "a") as more:
        more.writestr(zipfile.ZipInfo(name), b"x")
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(CaseError, match="which no archive of cases holds"):
        ours.import_cases(archive)
    assert sorted(tmp_path.rglob("*")) == before


def test_a_bomb_is_not_unpacked(ours: Casebook, archive: Path) -> None:
    with zipfile.ZipFile(archive, "a", zipfile.ZIP_DEFLATED) as more:
        for number in range(2, 8):
            more.writestr(f"cases/{number:06d}.json", b" " * 50_000_000)
    with pytest.raises(CaseError, match="would grow"):
        ours.import_cases(archive)


def test_a_lie_about_the_size_is_found(ours: Casebook, archive: Path) -> None:
    """The table of contents says less than what unpacks."""
    data = archive.read_bytes()
    with zipfile.ZipFile(archive) as old:
        size = old.getinfo("cases/000001.json").file_size
    archive.write_bytes(data.replace(size.to_bytes(4, "little"), (size - 9).to_bytes(4, "little")))
    with pytest.raises(CaseError, match=r"damaged|no JSON"):
        ours.import_cases(archive)


def test_two_entries_of_one_name_are_refused(ours: Casebook, archive: Path) -> None:
    with zipfile.ZipFile(archive, "a") as more, pytest.warns(UserWarning, match="Duplicate"):
        more.writestr("cases/000001.json", b"{}")
    with pytest.raises(CaseError, match="twice"):
        ours.import_cases(archive)


def test_a_photo_that_is_no_photo_is_refused(ours: Casebook, archive: Path) -> None:
    with zipfile.ZipFile(archive) as old:
        document = json.loads(old.read("cases/000001.json"))
        photo = next(name for name in old.namelist() if name.startswith("photos/"))
    with zipfile.ZipFile(archive, "w") as new:
        new.writestr("cases/000001.json", json.dumps(document))
        new.writestr(photo, b"<svg onload='alert(1)'/>")
    with pytest.raises(CaseError, match="not the one that was packed"):
        ours.import_cases(archive)


def test_one_bad_case_among_good_ones_stops_all(ours: Casebook, archive: Path) -> None:
    with zipfile.ZipFile(archive, "a") as more:
        more.writestr("cases/000002.json", b"{}")
    with pytest.raises(CaseError, match=r"000002\.json.*nothing was taken in"):
        ours.import_cases(archive)
    assert len(ours) == 0


PLACE = st.floats(0, 1, exclude_max=True)


@settings(max_examples=40)
@given(hits=st.lists(st.tuples(PLACE, st.integers(0, 255)), min_size=1, max_size=4), kept=st.just(1.0) | PLACE)
def test_any_damage_is_a_reason_never_a_crash(
    hits: list[tuple[float, int]], kept: float, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Bytes of a good archive are changed anywhere, its end is cut off: refused, or what changed says nothing."""
    folder = tmp_path_factory.mktemp("damaged")
    book = Casebook(folder / "theirs.sqlite")
    book.open("GC-1", board="B").read("5V 0.09")
    book.export_cases(folder / "cases.zip")
    raw = bytearray((folder / "cases.zip").read_bytes())
    for place, value in hits:
        raw[int(place * len(raw))] = value
    (folder / "cases.zip").write_bytes(bytes(raw[: int(kept * len(raw))]))
    try:
        Casebook(folder / "ours.sqlite").import_cases(folder / "cases.zip")
    except KitError as refused:
        assert "cases.zip" in str(refused)


def test_what_is_no_archive_says_so(ours: Casebook, tmp_path: Path) -> None:
    (tmp_path / "notes.zip").write_text("5V 0.09")
    with pytest.raises(CaseError, match=r"notes\.zip is no archive of cases"):
        ours.import_cases(tmp_path / "notes.zip")
    with pytest.raises(CaseError, match="cannot be read"):
        ours.import_cases(tmp_path / "missing.zip")


def test_an_archive_that_cannot_be_written_leaves_the_old_one(theirs: Casebook, archive: Path) -> None:
    old = archive.read_bytes()
    with pytest.raises(CaseError, match="cannot be written"):
        theirs.export_cases(archive.parent / "missing" / "cases.zip")
    assert archive.read_bytes() == old


# -- for spreadsheets ------------------------------------------------------------------------------------
def test_readings_as_a_table(theirs: Casebook, archive: Path, tmp_path: Path) -> None:
    assert theirs.export_readings(tmp_path / "readings.csv") == 5
    text = (tmp_path / "readings.csv").read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert rows[2]["place"] == "EN" and float(rows[2]["value"]) == 0.02
    assert (rows[2]["case"], rows[2]["board"], rows[4]["good_board"]) == ("GC-0042", "GH-CTRL-2B", "yes")
    assert "Grower" not in text


@pytest.mark.parametrize("name", ["=HYPERLINK(1)", "+1", "-1", "@SUM(A1)", "  =1+1", "＝1+1"])
def test_no_cell_is_a_formula(theirs: Casebook, tmp_path: Path, name: str) -> None:
    theirs.open(name, board="=cmd|' /C calc'!A0").read("5V -0.65")
    theirs.export_readings(tmp_path / "readings.csv")
    text = (tmp_path / "readings.csv").read_text(encoding="utf-8-sig")
    _, row = csv.reader(io.StringIO(text, newline=""))
    texts = [cell for cell in row if not _is_number(cell)]
    assert not [cell for cell in texts if cell.strip()[:1] in set("=+-@＝")]
    assert "-0.65" in row[-5:] or "'-0.65" in row[-5:]


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True
