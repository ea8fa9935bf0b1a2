"""What a hostile casebook, photo, name or word could do, and that it does not."""

import ast
import io
import shutil
import sqlite3
import struct
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from shouldread.casebook import Casebook
from shouldread.casebook.photos import LONG_SIDE, prepared_bytes
from shouldread.errors import CaseError, KitError, RequestError

from tests.casebook.test_hand_over import full_case
from tests.house.source import modules

SLOWEST = 1.0  # seconds of processor time that any input may take


# -- a colleague's casebook --------------------------------------------------------------------------------
@pytest.fixture
def theirs(tmp_path: Path) -> Path:
    (tmp_path / "theirs").mkdir()
    full_case(Casebook(tmp_path / "theirs" / "book.sqlite"), tmp_path)
    return tmp_path / "theirs" / "book.sqlite"


@pytest.fixture
def ours(tmp_path: Path) -> Casebook:
    return Casebook(tmp_path / "ours.sqlite")


def test_a_colleagues_casebook_comes_in_like_an_archive(ours: Casebook, theirs: Path) -> None:
    before = theirs.read_bytes()
    assert ours.import_cases(theirs).new == ("GC-0042",)
    assert str(ours.case("GC-0042")) == str(Casebook(theirs).case("GC-0042"))
    assert ours.import_cases(theirs).known == ("GC-0042",)
    assert theirs.read_bytes() == before
    old = Path(__file__).parent / "old" / "version_1.sqlite"
    assert len(ours.import_cases(old).new) == 2 and not old.with_name("version_1.sqlite-wal").exists()


HOSTILE: dict[str, tuple[str, str]] = {
    "a trigger": ("CREATE TRIGGER t AFTER INSERT ON events BEGIN DELETE FROM cases; END", "trigger t"),
    "a view": ("CREATE VIEW causes_seen AS SELECT load_extension('x')", "view causes_seen"),
    "a view for a table": ("DROP TABLE causes; CREATE VIEW causes AS SELECT 1 AS fault", "view causes"),
    "a table of their own": ("CREATE TABLE plants (name TEXT)", "table plants"),
    "a rule in a table": (
        "DROP TABLE causes; CREATE TABLE causes (event_uid, case_id, fault, x AS (abs(-1)))",
        "table causes",
    ),
    "another kind of file": ("PRAGMA application_id = 7", "not a casebook"),
    "a form of the future": ("PRAGMA user_version = 99", "not a casebook this kit can read"),
    "a body that is no JSON": ("UPDATE events SET body = '{' WHERE kind = 'cause'", "no JSON"),
    "a body of bytes": ("UPDATE events SET body = zeroblob(1000) WHERE kind = 'cause'", "no JSON"),
    "no body": ("UPDATE events SET body = '' WHERE kind = 'cause'", "no JSON"),
    "a bomb of a body": ("UPDATE events SET body = zeroblob(30000000) WHERE kind = 'cause'", "larger than 20 MB"),
    "a number for a time": ("UPDATE events SET at = 7 WHERE kind = 'cause'", "at"),
    "a number for a name": ("UPDATE cases SET name = x'ff00'", "name"),
    "a kind that is none": ("UPDATE events SET kind = 'run' WHERE kind = 'cause'", "kind"),
    "an event of bytes": ("UPDATE events SET uid = zeroblob(20) WHERE kind = 'cause'", "uid"),
    "a photo of something else": ("UPDATE photos SET png = '<svg/>'", "not the one that was packed"),
    "a photo too large": ("UPDATE photos SET png = zeroblob(70000000)", "photo"),
    "no photo": ("DELETE FROM photos", "photo"),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_a_hostile_casebook_is_refused_with_the_reason(ours: Casebook, theirs: Path, what: str) -> None:
    change, reason = HOSTILE[what]
    with sqlite3.connect(theirs) as connection:
        connection.executescript(change)
    connection.close()
    with pytest.raises(CaseError, match=reason) as told:
        ours.import_cases(theirs)
    assert len(str(told.value)) < 500 and len(ours) == 0


def test_a_damaged_casebook_is_refused(ours: Casebook, theirs: Path) -> None:
    raw = bytearray(theirs.read_bytes())
    for page in range(2, len(raw) // 4096):
        raw[page * 4096 : page * 4096 + 64] = b"\xa5" * 64
    theirs.write_bytes(bytes(raw))
    with pytest.raises(CaseError, match="damaged"):
        ours.import_cases(theirs)


@settings(max_examples=15)
@given(hits=st.lists(st.tuples(st.floats(0, 1, exclude_max=True), st.integers(0, 255)), min_size=1, max_size=8))
def test_any_damage_to_a_casebook_is_a_reason(
    hits: list[tuple[float, int]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("damaged")
    path = Path(shutil.copy(Path(__file__).parent / "old" / "version_2.sqlite", folder / "book.sqlite"))
    raw = bytearray(path.read_bytes())
    for place, value in hits:
        raw[int(place * len(raw))] = value
    path.write_bytes(bytes(raw))
    try:
        Casebook(folder / "ours.sqlite").import_cases(path)
    except KitError as refused:
        assert "book.sqlite" in str(refused)


# -- photos ------------------------------------------------------------------------------------------------
def encoded(image: Image.Image, form: str, **more: object) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **more)
    return out.getvalue()


def png_of(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds almost nothing (PNG specification, chapter 5)."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(b"\0" * 1000)), (b"IEND", b""))
    body = b"".join(struct.pack(">I", len(d)) + n + d + struct.pack(">I", zlib.crc32(n + d)) for n, d in chunks)
    return b"\x89PNG\r\n\x1a\n" + body


def test_a_photo_loses_place_camera_and_owner() -> None:
    exif = Image.Exif()
    exif[0x010F], exif[0x013B] = "camera maker", "A. Grower"  # Make and Artist (CIPA DC-008, EXIF)
    exif.get_ifd(0x8825)[2] = (52.0, 30.0, 0.0)  # GPS latitude
    exif[0x0112] = 6  # lies on its side
    raw = encoded(Image.new("RGB", (400, 300), "green"), "JPEG", exif=exif, comment=b"SN-7")
    assert b"Grower" in raw and b"SN-7" in raw
    picture = prepared_bytes(raw, "board.jpg")
    assert (picture.width, picture.height) == (300, 400)
    with Image.open(io.BytesIO(picture.png)) as image:
        assert not image.getexif() and not image.info
    assert b"Grower" not in picture.png and b"SN-7" not in picture.png


def test_a_large_photo_is_made_smaller() -> None:
    picture = prepared_bytes(encoded(Image.new("RGB", (4000, 1000)), "JPEG"), "wide.jpg")
    assert (picture.width, picture.height) == (LONG_SIDE, LONG_SIDE // 4)


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        b"%!PS-Adobe\n",
        png_of(60_000, 60_000),
        png_of(10_000, 9_000),
        png_of(400, 300),
        encoded(Image.new("RGB", (40, 40)), "JPEG")[:200],
        encoded(Image.new("RGB", (40, 40)), "GIF"),
        b"\x89PNG\r\n\x1a\n" + b"\xff" * 64,
    ],
    ids=["nothing", "svg", "postscript", "bomb", "too many pixels", "half a PNG", "half a JPEG", "gif", "noise"],
)  # fmt: skip
def test_what_is_no_photo_is_refused(raw: bytes) -> None:
    begun = time.process_time()
    with pytest.raises(RequestError, match=r"is not a picture this kit reads|million pixels"):
        prepared_bytes(raw, "board.png")
    assert time.process_time() - begun < SLOWEST


# -- words and names ---------------------------------------------------------------------------------------
WORDS = st.text(max_size=60) | st.sampled_from(
    [
        *('" OR 1=1 --', "NEAR(a b)", "text:*", "a* AND NOT b", "^x", "'; DROP TABLE cases; --", "%", "_", "*[a-z]*"),
        *("=" * 3000, "(" * 5000, "a " * 5000, "\u0301" * 3000, "\U0001f50c 5V 9e999", "5V " + "9" * 5000, "1" * 5000 + "k"),
        *("5V 0.09;" * 2000, "EN " + "(" * 3000, "\x00", "\ud800", "a\u202eb", "$\\frac{1}{0}$", "{{7*7}}", "../../x"),
    ]
)  # fmt: skip


@settings(max_examples=40)
@given(words=WORDS)
@pytest.mark.parametrize(
    "verb",
    [
        *("open", "case", "search", "known_good", "read", "rails", "observe", "did", "sheet", "mark", "trace"),
        *("symptom", "use", "cause", "proved", "note", "undo"),
    ],
)
def test_no_word_takes_long_or_raises_anything_else(
    verb: str, words: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Whatever is typed: kept, or refused with one of the kit's own errors; the case can be read afterwards."""
    book = Casebook(tmp_path_factory.getbasetemp() / f"fuzz-{verb}.sqlite")
    case = book.open("GC-1", board="GH-CTRL-2")
    does: dict[str, Callable[[str], object]] = {
        **{name: getattr(book, name) for name in ("open", "case", "search", "known_good")},
        **{n: getattr(case, n) for n in ("observe", "did", "mark", "trace", "symptom", "cause", "proved", "note")},
        "read": case.read,
        "rails": lambda text: case.read(text, rails=True),
        "sheet": case.sheet,
        "use": lambda text: case.use(f"{text}\nR1 A 0 1k\n"),
        "undo": case.undo,
    }
    kept = len(case.events)
    begun = time.process_time()
    try:
        does[verb](words)
    except KitError:
        assert len(case.events) == kept
    took = time.process_time() - begun
    assert took < SLOWEST, (took, words[:80])
    assert case.readings is not None and str(case)
    while len(case.standing()) > 6:  # the next example meets a small case
        case.undo()


# -- the kit itself ----------------------------------------------------------------------------------------
def test_nothing_in_the_kit_runs_what_it_reads() -> None:
    """No pickle, no marshal, no eval, no exec, no shell, anywhere."""
    banned = ("pickle", "marshal", "shelve", "dill", "joblib")
    for module in modules():
        assert not [f for f in module.imports() if f.target.split(".")[0] in banned], module.name
        for node in ast.walk(ast.parse(module.text)):
            if isinstance(node, ast.Call):
                called = ast.unparse(node.func)
                assert called not in ("eval", "exec", "compile", "os.system", "os.popen"), (module.name, node.lineno)
                assert not [k for k in node.keywords if k.arg == "shell"], (module.name, node.lineno)


def test_a_new_casebook_is_its_owners_alone(tmp_path: Path) -> None:
    path = tmp_path / "shop" / "book.sqlite"
    Casebook(path).open("GC-1").note("x")
    assert path.stat().st_mode & 0o077 == 0 and path.parent.stat().st_mode & 0o077 == 0
