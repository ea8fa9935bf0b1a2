"""Pictures of every screen, for whoever wants to look: ``python -m tests.browser.screens [SCREEN ...]``.

They go to ``tests/browser/shots`` (ignored by git): each screen in rooms of 848, 468 and 272 px, light and dark,
and in forced colours. With ``--readme`` alone the two pictures of the README are made anew.
"""

import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright
from shouldread.casebook import Casebook

from tests.browser.bench import Bench
from tests.browser.conftest import SHOTS, launched
from tests.browser.lab import ROOT, Lab
from tests.browser.looks import WIDTHS, ZOOMED, looks, turn
from tests.browser.scenes import move_a_value, prove_board, read_rails, read_stage, suppose_and_confirm, trace_stage
from tests.browser.sheet import Sheet
from tests.browser.training import (
    DRILL,
    PRACTICE,
    DrillPage,
    right_answer,
    stopped_and_named,
    three_probed,
    wrong_answer,
)
from tests.casebook.test_hand_over import full_case

EMPTY = ["import shouldread as sr\nsr.bench()"]
STAGE = ["import shouldread as sr\nsr.bench('two_feed_enable')"]
PAGES = ("write_up", "casebook")
README = {"rails": "rails", "stage": "bench"}  # screen, and the name of its picture in the README
Scene = Callable[[Sheet], object]


def _what_if(sheet: Sheet) -> None:
    Bench(sheet).thought()
    move_a_value(Bench(sheet))


def _stage(sheet: Sheet) -> None:
    sheet.page.get_by_text("as it is", exact=True).click()
    read_stage(Bench(sheet))


def _drill_marked(sheet: Sheet) -> None:
    page = DrillPage(sheet)
    page.answer(right_answer(page.asked))


def _drill_missed(sheet: Sheet) -> None:
    page = DrillPage(sheet)
    for _ in range(2):
        page.answer(right_answer(page.asked))
        page.go_on()
    page.answer(wrong_answer(page.asked))


def _saved(sheet: Sheet) -> None:
    """The notebook opened again when its kernel is gone: the picture and the table that stand for the bench."""
    read_stage(Bench(sheet))
    sheet.page.wait_for_timeout(3000)
    sheet.save()
    sheet.stop_kernels()
    sheet.page.evaluate("() => window.onbeforeunload = null")
    sheet.page.reload()
    sheet.page.wait_for_selector("[data-shouldread-saved]", timeout=60_000)
    sheet.page.wait_for_timeout(4000)


ROADS: tuple[tuple[list[str], tuple[tuple[str, Scene], ...]], ...] = (
    (
        EMPTY,
        (
            ("doorway", lambda sheet: Bench(sheet)),
            ("rails", lambda sheet: read_rails(Bench(sheet))),
            ("trace", lambda sheet: trace_stage(Bench(sheet))),
        ),
    ),
    (
        STAGE,
        (
            ("what_if", _what_if),
            ("stage", _stage),
            ("stage_supposed", lambda sheet: suppose_and_confirm(Bench(sheet))),
            ("proof", lambda sheet: prove_board(Bench(sheet))),
        ),
    ),
    (PRACTICE, (("practice", three_probed), ("practice_end", stopped_and_named))),
    (DRILL, (("drill", lambda sheet: DrillPage(sheet).asked), ("drill_marked", _drill_marked))),
    (DRILL, (("drill_missed", _drill_missed),)),
    (STAGE, (("saved", _saved),)),
)
NAMES = (*(name for _, scenes in ROADS for name, _ in scenes), *PAGES)


def shots(sheet: Sheet, name: str) -> Iterator[Path]:
    """A screen as it stands, in every look."""
    alive = sheet.page.locator(".shouldread")
    root = alive.first if alive.count() else sheet.page.locator(".jp-OutputArea")
    for room, theme in looks(sheet, {**WIDTHS, **ZOOMED}):
        root.screenshot(path=SHOTS / f"{name}_{room}_{theme}.png")
        yield SHOTS / f"{name}_{room}_{theme}.png"
    turn(sheet, 848)
    sheet.page.emulate_media(forced_colors="active")
    root.screenshot(path=SHOTS / f"{name}_848_forced.png")
    yield SHOTS / f"{name}_848_forced.png"
    sheet.page.emulate_media(forced_colors="none")


def walk(
    browser: Browser, lab: Lab, cells: list[str], scenes: Mapping[str, Scene], wanted: set[str]
) -> Iterator[Path]:
    """Go one road as far as a picture is wanted, and take it there."""
    page = browser.new_context(viewport={"width": WIDTHS[848], "height": 3400}).new_page()
    sheet = Sheet(page, lab.url)
    sheet.open(lab.write("_".join(scenes), cells))
    sheet.run_all()
    for name, scene in scenes.items():
        scene(sheet)
        if name in wanted:
            yield from shots(sheet, name)
        wanted = wanted - {name}
        if not wanted & set(scenes):
            break
    sheet.stop_kernels()
    page.context.close()


def pages(browser: Browser, folder: Path, wanted: set[str]) -> Iterator[Path]:
    """A case's write-up and the casebook's list, opened from their files."""
    book = Casebook(folder / "book.sqlite")
    full_case(book, folder)
    index = book.write_site(folder / "site")
    for name, path in zip(PAGES, (index.parent / "GC-0042.html", index), strict=True):
        for room in (848, 468) if name in wanted else ():
            page = browser.new_context(viewport={"width": room, "height": 900}).new_page()
            page.goto(path.as_uri())
            page.screenshot(path=SHOTS / f"{name}_{room}.png", full_page=True)
            yield SHOTS / f"{name}_{room}.png"
            page.context.close()


def main() -> int:
    """Make the pictures of the screens named, or of all."""
    readme = sys.argv[1:] == ["--readme"]
    wanted = set(README if readme else sys.argv[1:] or NAMES)
    if unknown := sorted(wanted - set(NAMES)):
        print(f"there is no screen {unknown[0]}; known: {', '.join(NAMES)}", file=sys.stderr)
        return 2
    SHOTS.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        lab, browser = Lab(Path(folder)), launched(playwright)
        try:
            for cells, scenes in ROADS:
                if wanted & {name for name, _ in scenes}:
                    for path in walk(browser, lab, cells, dict(scenes), wanted):
                        print(path, flush=True)
            for path in pages(browser, Path(folder), wanted):
                print(path, flush=True)
        finally:
            browser.close()
            lab.stop()
    if readme:
        for screen, name in README.items():
            made = (
                Image.open(SHOTS / f"{screen}_848_light.png")
                .convert("RGB")
                .quantize(64, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)
            )
            made.save(ROOT / "kit" / "pictures" / f"{name}.png", optimize=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
