"""From the start of the lab to the first typed reading, as the kit's own command opens it; no code cell is run by hand."""

import time
from pathlib import Path

import pytest
from playwright.sync_api import Browser
from shouldread.__main__ import own_copies
from shouldread.casebook import Casebook

from tests.browser.bench import Bench
from tests.browser.conftest import SHOTS
from tests.browser.lab import ROOT, Lab
from tests.browser.sheet import Sheet

START = "00_start_here.ipynb"
SECONDS = 90  # 15 on a warm computer that does nothing else; tests share theirs and may compile first
COUNTS = "() => [...window.jupyterapp.shell.currentWidget.content.model.cells].map(cell => cell.executionCount ?? 0)"
SOURCE = """() => [...document.querySelectorAll('.jp-InputArea-editor')].map(editor => editor.getBoundingClientRect())
    .filter(box => box.height > 0 && box.width > 0 && box.top < innerHeight && box.bottom > 0).length"""


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the notebooks as the kit copies them for its user."""
    monkeypatch.setenv("JUPYTER_DATA_DIR", str(tmp_path / "jupyter_data_dir"))
    own_copies(ROOT / "notebooks", tmp_path / "notebooks")
    return tmp_path


def shown(lab: Lab, chromium: Browser) -> Sheet:
    page = chromium.new_context(viewport={"width": 1280, "height": 860}).new_page()
    sheet = Sheet(page, lab.url)
    page.goto(f"{lab.url}/lab/workspaces/shouldread/tree/{START}")
    return sheet


def test_the_bench_is_there_when_the_lab_is(chromium: Browser, place: Path) -> None:
    begun = time.monotonic()
    lab = Lab(place, as_started=True)
    try:
        sheet = shown(lab, chromium)
        bench = Bench(sheet)
        sheet.page.wait_for_function("() => document.activeElement.dataset.name === 'reading line'", timeout=60_000)
        bench.typed("5V ohms 2k1")
        bench.all_saved()
        taken = time.monotonic() - begun
        print(f"first reading on the disk after {taken:.1f} s")
        (case,) = Casebook(lab.casebook)
        assert [str(reading) for reading in case.readings] == ["5V ohms 2k1 @cold"]
        assert taken < SECONDS
        SHOTS.mkdir(exist_ok=True)
        sheet.page.screenshot(path=SHOTS / "lab_opens.png")
        assert sheet.page.evaluate(SOURCE) == 0, "no code in sight"
        assert sheet.strays == [] and sheet.complaints == []
        kernels = sheet.page.evaluate("url => fetch(url).then(answer => answer.json())", f"{lab.url}/api/kernels")
        assert len(kernels) == 1, "the page goes on with the kernel that was started ahead of it"
        assert "started ahead" not in lab.log
        _reload_keeps_the_bench(sheet, bench.text("h2"))
    finally:
        lab.stop()


def _reload_keeps_the_bench(sheet: Sheet, title: str) -> None:
    """The page again with the kernel alive: the same case, and nothing is run anew."""
    sheet.save()
    sheet.page.evaluate("() => window.onbeforeunload = null")
    sheet.page.reload()
    again = Bench(sheet)
    again.root.locator(".sr-rails th", has_text="5V").first.wait_for(timeout=60_000)
    sheet.page.wait_for_timeout(2000)
    assert again.text("h2") == title


@pytest.mark.parametrize(
    "line", ["import os\nos.makedirs('made')", "# bench\nimport shouldread as sr\n\nsr.bench() or print(1)"]
)
def test_nothing_else_is_run_by_itself(chromium: Browser, place: Path, line: str) -> None:
    """A start notebook that somebody changed runs nothing when it is opened."""
    folder = place / "notebooks"
    lab = Lab(place, as_started=True)
    try:
        (folder / START).unlink()
        lab.write(START.removesuffix(".ipynb"), [line])
        sheet = shown(lab, chromium)
        sheet.page.wait_for_selector(".jp-Notebook .jp-Cell", timeout=90_000)
        sheet.page.wait_for_function(
            "() => window.jupyterapp?.shell.currentWidget?.sessionContext?.session?.kernel?.status === 'idle'",
            timeout=90_000,
        )
        sheet.page.wait_for_timeout(3000)
        assert sheet.page.evaluate(COUNTS) == [0] and not (folder / "made").exists()
    finally:
        lab.stop()
