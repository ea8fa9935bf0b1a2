"""The proof typed by keyboard: each result is on the disk, judged beside its line, and what cannot be taken stays in its field."""

from tests.browser.bench import Bench
from tests.browser.conftest import OpenSheet
from tests.browser.scenes import prove_board
from tests.browser.test_looks import CELL


def test_a_proof_is_typed_line_by_line(open_sheet: OpenSheet) -> None:
    sheet = open_sheet([CELL], height=2400)
    sheet.run_all()
    bench = Bench(sheet)
    prove_board(bench)
    line = bench.root.locator("[data-line='EN']")
    assert line.locator("xpath=ancestor::tr").locator(".sr-word").text_content() == "right"
    assert "30 min are asked" in bench.status, "the line entered last, not what the readings mean"
    line.fill("lots")
    bench.page.keyboard.press("Enter")
    bench.root.locator(".sr-status", has_text="EN lots").wait_for(timeout=30_000)
    assert line.input_value() == "lots"
