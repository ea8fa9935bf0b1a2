"""Long work shows what it is at, can be stopped by hand, and goes on where it was."""

from tests.browser.bench import Bench
from tests.browser.conftest import OpenSheet

BOARD = [  # shown at once: a quick computer would have thought of everything before the page does
    "import sys\nimport shouldread as sr\nbench = sr.bench('sensor_gateway')\n"
    "sys.modules['shouldread.views.bench'].PATIENCE = 0.0\nbench"
]


def test_long_work_is_stopped_and_taken_up_again(open_sheet: OpenSheet) -> None:
    sheet = open_sheet(BOARD, height=1600)
    sheet.run_all()
    bench = Bench(sheet)
    busy = bench.root.locator(".sr-busy")
    halt = bench.root.locator("[data-name='stop or go on']")
    halt.wait_for(state="visible", timeout=60_000)
    assert "…" in busy.inner_text() and halt.inner_text() == "stop"
    halt.focus()
    sheet.page.keyboard.press("Enter")
    busy.get_by_text("stopped").wait_for(timeout=60_000)
    assert halt.inner_text() == "go on"
    assert not bench.root.locator(".sr-group").count()
    sheet.page.keyboard.press("Enter")
    bench.thought()
    halt.wait_for(state="hidden", timeout=120_000)
    assert bench.root.locator(".sr-group").count()
