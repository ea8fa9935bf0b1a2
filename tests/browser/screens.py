"""Pictures of every screen, for whoever wants to look: ``python -m tests.browser.screens [SCREEN ...]``.

They go to ``tests/browser/shots`` (ignored by git): each screen in rooms of 848 and 468 px, light and dark.
"""

import sys
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from tests.browser.bench import Bench
from tests.browser.conftest import SHOTS, launched
from tests.browser.lab import Lab
from tests.browser.scenes import (
    DARK,
    LIGHT,
    WIDTHS,
    move_a_value,
    prove_board,
    read_rails,
    read_stage,
    shot,
    suppose_and_confirm,
    trace_stage,
)
from tests.browser.sheet import Sheet

EMPTY = "import shouldread as sr\nsr.bench()"
STAGE = "import shouldread as sr\nsr.bench('two_feed_enable')"
Scene = Callable[[Bench], None]


def _stage_supposed(bench: Bench) -> None:
    read_stage(bench)
    suppose_and_confirm(bench)


def _what_if(bench: Bench) -> None:
    bench.thought()
    move_a_value(bench)


SCREENS: Mapping[str, tuple[str, Scene]] = {
    "doorway": (EMPTY, lambda bench: None),
    "rails": (EMPTY, read_rails),
    "trace": (EMPTY, trace_stage),
    "stage": (STAGE, read_stage),
    "stage_supposed": (STAGE, _stage_supposed),
    "what_if": (STAGE, _what_if),
    "proof": (STAGE, prove_board),
}


def picture(browser: Browser, lab: Lab, name: str, room: int, theme: str) -> None:
    """One screen in one room and theme."""
    cell, scene = SCREENS[name]
    page = browser.new_context(viewport={"width": WIDTHS[room], "height": 2700}).new_page()
    sheet = Sheet(page, lab.url)
    sheet.open(lab.write(f"{name}_{room}_{theme}", [cell]))
    page.evaluate(DARK if theme == "dark" else LIGHT)
    sheet.run_all()
    bench = Bench(sheet)
    scene(bench)
    shot(bench, f"{name}_{room}_{theme}")
    sheet.stop_kernels()
    page.context.close()


def main() -> int:
    """Make the pictures of the screens named, or of all."""
    names = sys.argv[1:] or list(SCREENS)
    unknown = [name for name in names if name not in SCREENS]
    if unknown:
        print(f"there is no screen {unknown[0]}; known: {', '.join(SCREENS)}", file=sys.stderr)
        return 2
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        lab, browser = Lab(Path(folder)), launched(playwright)
        try:
            for name in names:
                for room in WIDTHS:
                    for theme in ("light", "dark"):
                        picture(browser, lab, name, room, theme)
                        print(SHOTS / f"{name}_{room}_{theme}.png", flush=True)
        finally:
            browser.close()
            lab.stop()
    return 0


if __name__ == "__main__":
    sys.exit(main())
