"""Fixtures of the browser tests: the lab's server, the system's Chromium, and notebooks opened in it.

A test asks for ``open_sheet`` and gives cells, or the file name of a notebook in ``lab.folder``::

    def test_something(open_sheet):
        sheet = open_sheet(["import shouldread as sr", "sr.bench()"], width=848)
        sheet.run_all()
        sheet.page.get_by_role("textbox", name="...").fill("EN 0.02")

Further keywords go to the browser's context: ``color_scheme="dark"``, ``forced_colors="active"``,
``reduced_motion="reduce"``, ``device_scale_factor=2``. Requests that leave this computer fail the test.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Playwright, sync_playwright

from tests.browser.lab import Lab
from tests.browser.sheet import Sheet

HERE = Path(__file__).parent
SHOTS = HERE / "shots"
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "msedge")
FLAGS = [
    *("--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync"),
]

OpenSheet = Callable[..., Sheet]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Every test of this folder is a browser test."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    server = Lab(tmp_path_factory.mktemp("lab"))
    yield server
    server.stop()


def launched(playwright: Playwright) -> Browser:
    """The Chromium of the system, without a window."""
    program = next(filter(None, map(shutil.which, BROWSERS)), None)
    assert program, f"none of {', '.join(BROWSERS)} is installed; tests/run.py brings one"
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    flags = [*FLAGS, "--no-sandbox"] if as_root else FLAGS
    return playwright.chromium.launch(executable_path=program, args=flags)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """A browser for all tests of a run."""
    with sync_playwright() as playwright:
        browser = launched(playwright)
        yield browser
        browser.close()


@pytest.fixture
def open_sheet(lab: Lab, chromium: Browser, request: pytest.FixtureRequest) -> Iterator[OpenSheet]:
    """Opens notebooks; at the end of the test their kernels are stopped, and strays and page errors fail it."""
    sheets: list[Sheet] = []

    def opened(what: list[str] | str, *, width: int = 1280, height: int = 900, **context: Any) -> Sheet:
        name = what if isinstance(what, str) else lab.write(f"{request.node.originalname}_{len(sheets)}", what)
        page = chromium.new_context(viewport={"width": width, "height": height}, **context).new_page()
        sheets.append(Sheet(page, lab.url))
        sheets[-1].open(name)
        return sheets[-1]

    yield opened
    for number, sheet in enumerate(sheets):
        SHOTS.mkdir(exist_ok=True)
        sheet.page.screenshot(path=SHOTS / f"{request.node.name.replace('/', '_')}_{number}.png")
        sheet.stop_kernels()
        sheet.page.context.close()
    assert not [stray for sheet in sheets for stray in sheet.strays]
    assert not [complaint for sheet in sheets for complaint in sheet.complaints]
