"""The doorway as a person meets it: one cell, and a board can be typed in."""

from tests.browser.conftest import OpenSheet


def test_an_empty_bench_opens_without_trouble(open_sheet: OpenSheet) -> None:
    """``sr.bench()`` alone shows where to type, asks nothing outside this computer and complains of nothing."""
    sheet = open_sheet(["import shouldread as sr\nsr.bench()"])
    sheet.run_all()
    bench = sheet.page.locator(".shouldread").first
    bench.wait_for(state="visible", timeout=30_000)
    assert bench.get_by_role("textbox").count() > 0
