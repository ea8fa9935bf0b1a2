"""A round of a drill by keyboard alone: a choice, a reading, a miss that comes again, and the truth table after each."""

from tests.browser.conftest import OpenSheet
from tests.browser.looks import ZOOMED, looks, overflow, violations
from tests.browser.training import DRILL, SLOW, DrillPage, right_answer, wrong_answer

ROOMS = {848: 1280, 468: 900, **ZOOMED}


def _fits_everywhere(page: DrillPage) -> None:
    focused = page.page.evaluate_handle("() => document.activeElement").as_element()
    assert focused is not None
    for room, theme in looks(page.sheet, ROOMS):
        assert overflow(page.sheet) == [], f"{room} {theme}"
        if room == 468:
            assert violations(page.sheet) == [], theme
    focused.focus()  # the notebook may lay its cells out anew for another theme or room, and drop it


def test_a_round_by_keyboard(open_sheet: OpenSheet) -> None:
    sheet = open_sheet(DRILL, height=1400)
    sheet.run_all()
    page = DrillPage(sheet)
    assert page.root.locator(".sr-truth").is_hidden(), "the truth table would be the answer"
    for number in range(6):
        question = page.asked
        if number == 0:
            _fits_everywhere(page)
        said = right_answer(question)
        if number == 1:  # no answer at all: it stays in its field to be mended
            sheet.page.keyboard.type("?!")
            sheet.page.keyboard.press("Enter")
            page.root.locator("> .sr-status", has_text="type").wait_for(timeout=SLOW)
            assert page.root.locator("[data-name='answer']").input_value() == "?!"
            sheet.page.keyboard.press("Control+a")
        if number == 2:
            said = wrong_answer(question)
        page.answer(said)
        if number in (2, 3):
            _fits_everywhere(page)
        page.go_on()
    assert sum(map(bool, page.drill.answers)) == 5
    page.root.locator(".sr-saved", has_text="5 of 6 right").wait_for(timeout=SLOW)
