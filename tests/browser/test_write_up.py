"""The write-up as a colleague opens it: from a file, offline, complete, printed on whole A4 pages, for everybody."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page
from shouldread.casebook import Casebook

from tests.casebook.test_hand_over import full_case
from tests.casebook.test_write_up import nasty_case

A4 = (595.28, 841.89)  # points: 210 x 297 mm (ISO 216)
WHOLE = """() => [...document.querySelectorAll('tr, figure, .cause, .caution, h1, h2, img')].filter(e => {
    const box = e.getBoundingClientRect(), style = getComputedStyle(e);
    const kept = style.breakInside === 'avoid' || e.matches('h1, h2, img');
    return !kept || box.height > 1001 || box.right > 681;   // 265 x 180 mm of a sheet at 96 dots an inch
}).map(e => e.tagName + ' ' + e.textContent.slice(0, 40))"""
SHOWN = "() => [...document.images].every(i => i.complete && i.naturalWidth > 0)"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A casebook's folder of pages: an everyday case, a long one and a hostile one."""
    folder = tmp_path_factory.mktemp("site")
    book = Casebook(folder / "book.sqlite")
    full_case(book, folder)
    long = full_case(book, folder, "GC-0043")
    for number in range(120):
        long.read(f"P{number} {number % 12}.{number % 10}", rails=True)
    nasty_case(book)
    return book.write_site(folder / "site").parent


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """A page without a network; anything but the file that was opened, any complaint and any script fails the test."""
    context = chromium.new_context(offline=True, viewport={"width": 1000, "height": 900})
    page = context.new_page()
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("dialog", lambda dialog: said.append(f"a script ran: {dialog.message}") or dialog.dismiss())
    page.on("pageerror", lambda error: said.append(str(error)))
    yield page
    context.close()
    assert not [url for url in asked if not url.startswith(("file:", "data:"))], asked
    assert not said


@pytest.mark.parametrize("name", ["GC-0042", "GC-0043", "index"])
def test_opened_offline_and_printed_on_whole_pages(page: Page, site: Path, name: str, tmp_path: Path) -> None:
    page.goto((site / f"{name}.html").as_uri())
    assert page.evaluate(SHOWN)
    assert page.locator("script").count() == 0
    if name != "index":
        for words in (
            "L1 open",
            "Readings before and after",
            "The road",
            "How it was confirmed and proved",
            "cracked here",
        ):
            assert page.get_by_text(words).first.is_visible()
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 680, "height": 1001})
    cut = page.evaluate(WHOLE)
    assert cut == []
    high = page.evaluate("() => document.documentElement.scrollHeight")
    page.pdf(path=tmp_path / "page.pdf", prefer_css_page_size=True, print_background=False)
    boxes = re.findall(rb"/MediaBox \[([\d. ]+)\]", (tmp_path / "page.pdf").read_bytes())
    sizes = [tuple(float(number) for number in box.split())[2:] for box in boxes]
    assert all(abs(w - A4[0]) < 1.5 and abs(h - A4[1]) < 1.5 for w, h in sizes), sizes
    assert high / 1001 <= len(sizes) + 0.01 and len(sizes) <= 2 * high / 1001 + 2
    assert len(sizes) >= {"GC-0042": 2, "GC-0043": 5, "index": 1}[name]


def test_nothing_of_a_hostile_case_runs(page: Page, site: Path) -> None:
    page.goto((site / "index.html").as_uri())
    page.get_by_role("link", name=re.compile("script")).click()
    assert page.get_by_text("<script>alert(1)</script>").first.is_visible()
    assert page.evaluate("() => document.scripts.length") == 0
    page.get_by_role("link", name="All cases").click()
    assert page.get_by_role("heading", name="Casebook").is_visible()


@pytest.mark.parametrize("name", ["GC-0042", "index"])
@pytest.mark.parametrize("width", [390, 1280])
def test_everybody_can_read_it(page: Page, site: Path, name: str, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    page.goto((site / f"{name}.html").as_uri())
    found = Axe().run(page)
    assert not [f"{v['id']}: {v['nodes'][0]['html'][:200]}" for v in found.response["violations"]]
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width
