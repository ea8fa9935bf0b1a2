"""The page for colleagues: complete in itself, in three forms that say the same, everything escaped for what it is."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from shouldread.casebook import Case, Casebook
from shouldread.casebook import site as site_module
from shouldread.casebook.write_up import stem_of
from shouldread.errors import CaseError

from tests.casebook.test_hand_over import full_case

NASTY = "<script>alert(1)</script><img src=x onerror=alert(1)>\"'&{{7*7}}{% raw %}[a](javascript:alert(1))|`x`"


class Reader(HTMLParser):
    """Tags, attributes and text of a page."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(path.read_text(encoding="utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.fixture
def book(tmp_path: Path) -> Casebook:
    return Casebook(tmp_path / "book.sqlite")


def nasty_case(book: Casebook) -> Case:
    """Every text that a case takes, hostile."""
    case = book.open(NASTY[:60], board=NASTY, symptom=NASTY)
    case.symptom(NASTY)
    case.observe(NASTY)
    case.did(NASTY, part=NASTY, lot=NASTY)
    case.supply(volts=12, fed=NASTY)
    case.note(NASTY)
    case.cause(NASTY, class_=NASTY, confidence=NASTY, why=NASTY)
    case.proved(NASTY, rails=NASTY)
    case.use(f"{NASTY}\nV1 IN 0 5\nR1 IN OUT 1k\nR2 OUT 0 1k\n")
    return case


def harmless(path: Path) -> Reader:
    """The page holds no script, no handler, and asks for nothing from anywhere."""
    page = Reader(path)
    assert not {tag for tag, _ in page.tags} & {"script", "iframe", "object", "embed", "link", "form", "svg", "base"}
    for tag, attributes in page.tags:
        assert not [name for name in attributes if name.startswith("on")], (tag, attributes)
        assert str(attributes.get("src", "data:image/")).startswith("data:image/")
        assert re.fullmatch(r"[^:/]*\.html", str(attributes.get("href", "x.html")))
    policies = [
        a["content"] for tag, a in page.tags if tag == "meta" and a.get("http-equiv") == "Content-Security-Policy"
    ]
    assert [str(policy)[:18] for policy in policies] == ["default-src 'none'"]
    return page


def test_the_three_forms_say_the_same(book: Casebook, tmp_path: Path) -> None:
    html, md, txt = full_case(book, tmp_path).write_up(tmp_path / "out")
    page = harmless(html)
    assert len([1 for tag, _ in page.tags if tag == "img"]) == 2
    for words in (
        *("GC-0042: L1 open", "GH-CTRL-2B", "nothing spins", "cracked here", "L1 beside the mounting hole"),
        *("EN 0.02; FEED 0.58", "groups left, first: L1 open", "all rails right (at 0.42 A, for 30 min)"),
        *("Bridge L1 for a test only", "L1 replaced (part 10 µH, lot 2209)", "seen: L1 cracked"),
    ):
        assert words in page.text, words
        in_text = words not in ("cracked here", "L1 beside the mounting hole")
        assert words in txt.read_text(encoding="utf-8")
        assert not in_text or words in md.read_text(encoding="utf-8").replace("\\", "")
    for path in (html, md, txt):
        assert "Grower" not in path.read_text(encoding="utf-8") and "SN-7" not in path.read_text(encoding="utf-8")


def test_customer_and_serial_only_when_asked_for(book: Casebook, tmp_path: Path) -> None:
    for path in full_case(book, tmp_path).write_up(tmp_path / "out", private=True):
        assert "A. Grower" in path.read_text(encoding="utf-8") and "SN-7" in path.read_text(encoding="utf-8")


def test_hostile_words_stay_words(book: Casebook, tmp_path: Path) -> None:
    html, md, txt = nasty_case(book).write_up(tmp_path / "out")
    assert harmless(html).text.count("<script>alert(1)</script>") >= 6
    assert not re.search(r"(?<!\\)[<\[`]", re.sub(r"^\|---.*$", "", md.read_text(encoding="utf-8"), flags=re.M))
    assert "{{7*7}}" in txt.read_text(encoding="utf-8")
    assert {path.parent for path in tmp_path.rglob("*.html")} == {tmp_path / "out"}


@pytest.mark.parametrize(
    "name, stem",
    [("GC-0042", "GC-0042"), ("../../x", "x"), ("con", "case_con"), ("a b/c\\d", "a_b_c_d"), ("..", "case"), ("ß 1", "ß_1")],
)  # fmt: skip
def test_a_file_name_stays_in_its_folder_on_every_system(name: str, stem: str) -> None:
    assert stem_of(name) == stem


def test_a_folder_that_cannot_be_written_says_so(book: Casebook, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(CaseError, match="cannot be made"):
        book.open("GC-1").write_up(tmp_path / "file" / "deeper")


# -- the list --------------------------------------------------------------------------------------------
def test_the_site_lists_every_case_and_links_its_page(book: Casebook, tmp_path: Path) -> None:
    full_case(book, tmp_path)
    nasty_case(book)
    for name in ("GC 1", "gc_1", "index"):
        book.open(name, symptom=f"of {name}")
    index = book.write_site(tmp_path / "site")
    page = harmless(index)
    links = [str(a["href"]) for tag, a in page.tags if tag == "a"]
    assert len(links) == len({link.casefold() for link in links}) == 5
    for link in links:
        there = tmp_path / "site" / link
        assert harmless(there).text.count("All cases") == 1
    assert page.text.count("<script>") >= 3 and "L1 open" in page.text and "Grower" not in page.text
    assert sorted(p.name for p in (tmp_path / "site").iterdir()) == sorted({*links, "index.html"})


def test_only_what_changed_is_written_again(book: Casebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    book.open("GC-1", symptom="hums")
    case = book.open("GC-2", symptom="dark")
    book.write_site(tmp_path / "site")
    written: list[str] = []
    plain = site_module.page_of
    monkeypatch.setattr(site_module, "page_of", lambda c, **how: written.append(c.name) or plain(c, **how))
    case.note("lamp was loose")
    index = book.write_site(tmp_path / "site")
    assert written == ["GC-2"] and "dark" in index.read_text(encoding="utf-8")
    book.write_site(tmp_path / "site", anew=True)
    assert sorted(written) == ["GC-1", "GC-2", "GC-2"]
    book.write_site(tmp_path / "site", private=True)
    assert len(written) == 5
