"""The proof typed by keyboard: each result is on the disk, judged beside its line, and what cannot be taken stays in its field."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.bench import Bench
from tests.browser.conftest import OpenSheet
from tests.browser.scenes import WIDTHS, prove_board, shot
from tests.browser.test_looks import CELL, OVERFLOW


@pytest.mark.parametrize("room", WIDTHS)
def test_a_proof_is_typed_line_by_line(open_sheet: OpenSheet, room: int) -> None:
    sheet = open_sheet([CELL], width=WIDTHS[room], height=2400)
    sheet.run_all()
    bench = Bench(sheet)
    prove_board(bench)
    line = bench.root.locator("[data-line='EN']")
    assert line.locator("xpath=ancestor::tr").locator(".sr-word").text_content() == "right"
    assert sheet.page.evaluate(OVERFLOW) == []
    shot(bench, f"proof_{room}")
    found = Axe().run(sheet.page, context=".shouldread", options={"runOnly": ["wcag2a", "wcag2aa"]})
    assert not [v["id"] + ": " + v["nodes"][0]["html"][:200] for v in found.response["violations"]]
    line.fill("lots")
    bench.page.keyboard.press("Enter")
    bench.root.locator(".sr-status", has_text="EN lots").wait_for(timeout=30_000)
    assert line.input_value() == "lots"
