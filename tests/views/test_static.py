"""The page's own files: what they may not do, checked in their text."""

import re
from pathlib import Path

import pytest
import shouldread.views.static as static

FOLDER = Path(static.__file__).parent
SCRIPTS, STYLES = sorted(FOLDER.rglob("*.js")), sorted(FOLDER.rglob("*.css"))
# each would parse markup, run text, reach a network, or take texts apart by how a screen shows them
FORBIDDEN = (
    r"\.innerHTML", r"\.outerHTML", "insertAdjacentHTML", r"document\.write", "DOMParser", r"\beval\b",
    r"new Function", r"\bfetch\(", "XMLHttpRequest", "WebSocket", "sendBeacon", r"\bimport\b", "srcdoc",
    "createContextualFragment", "getBBox", "getComputedTextLength", "getBoundingClientRect", "attachShadow",
)  # fmt: skip


def without_comments(text: str) -> str:
    return re.sub(r"(?m:^|(?<=\s))//[^\n]*|/\*.*?\*/", "", text, flags=re.DOTALL)


def test_only_comments_are_left_out() -> None:
    assert without_comments("a; // b\nc(); /* d\n */ e") == "a; \nc();  e"


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_scripts_neither_parse_markup_nor_reach_out(script: Path) -> None:
    text = without_comments(script.read_text(encoding="utf-8"))
    for pattern in FORBIDDEN:
        assert not re.search(pattern, text), pattern
    for address in re.findall(r"https?://[^\"' ]+", text):
        assert address == "http://www.w3.org/2000/svg"


def test_scripts_are_one_module_with_one_way_in() -> None:
    assert static.esm().count("export ") == 1 and "export default { render };" in static.esm()
    for path in (*SCRIPTS, *STYLES):
        assert len(path.read_text(encoding="utf-8").splitlines()) <= 300, path.name


def selectors(css: str) -> list[str]:
    """Every selector of a style sheet, those inside of at-rules too."""
    plain = re.sub(r"/\*.*?\*/", "", css, flags=re.DOTALL)
    heads = re.findall(r"([^{};]+)\{", plain)
    rows = [head.strip() for head in heads if not head.strip().startswith("@")]
    return [one.strip() for row in rows for one in re.split(r",(?![^(]*\))", row)]


def test_styles_stay_inside_the_bench() -> None:
    found = selectors(static.css())
    assert len(found) > 100
    for selector in found:
        inside = selector.startswith((".shouldread ", ".shouldread:"))
        assert inside or selector == ".shouldread" or "shouldread" in selector, selector


def test_every_colour_comes_from_the_theme() -> None:
    """The two leads of a meter are red and black by the trade; all else follows light, dark and forced colours."""
    own = {"#d32f2f", "#111"}
    plain = re.sub(r"var\([^()]*\)", "", static.css())
    assert set(re.findall(r"#[0-9a-fA-F]{3,8}\b", plain)) == own


def test_nothing_moves() -> None:
    """Reduced motion needs no rule where there is no motion."""
    assert not re.search(r"transition|animation|@keyframes", static.css())


def test_typing_is_guarded_and_tab_is_left_alone() -> None:
    text = static.esm()
    assert "guardKeys(root)" in text
    assert not re.search(r'key === "Tab"', text)
