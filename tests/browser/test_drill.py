"""A round of a drill by keyboard alone: a choice, a reading, a miss that comes again, and the truth table after each."""

import pytest
import shouldread as sr
from shouldread.practice import Question

from tests.browser.bench import CELLS as NOTEBOOK
from tests.browser.conftest import SHOTS, OpenSheet
from tests.browser.scenes import DARK, LIGHT, WIDTHS
from tests.browser.test_looks import OVERFLOW
from tests.browser.test_practice import violations

CELLS = ["import shouldread as sr", "sr.drill('two_feed_enable', seed=11)"]
SLOW = 60_000  # ms within which an answer must be marked, on a busy computer
FOCUS = "() => document.activeElement.dataset.name || ''"


def right_answer(question: Question) -> str:
    return f"{question.band.typical:.4g}" if question.band is not None else question.answer


@pytest.mark.parametrize("room, theme", [(848, LIGHT), (848, DARK), (468, LIGHT)])
def test_a_round_by_keyboard(open_sheet: OpenSheet, room: int, theme: str) -> None:
    drill = sr.drill("two_feed_enable", seed=11)  # the same dice: the same questions
    sheet = open_sheet(CELLS, width=WIDTHS[room], height=1400)
    sheet.page.evaluate(theme)
    sheet.run_all()
    root = sheet.page.locator(".shouldread")
    root.wait_for(state="visible", timeout=SLOW)
    cells = sheet.page.evaluate(NOTEBOOK)
    assert root.locator(".sr-truth").is_hidden(), "the truth table would be the answer"
    root.locator("[data-name='answer']").focus()
    shot = f"drill_{room}{'_dark' if theme == DARK else ''}"
    SHOTS.mkdir(exist_ok=True)
    for number in range(6):
        question = drill.question
        assert question is not None
        root.locator(".sr-asked", has_text=question.text).wait_for(timeout=SLOW)
        assert sheet.page.evaluate(FOCUS) == "answer"
        if number == 0:
            root.screenshot(path=SHOTS / f"{shot}_asked.png")
            assert not violations(sheet)
        said = "?!" if number == 1 else right_answer(question)
        if number == 1:  # no answer at all: it stays in its field to be mended
            sheet.page.keyboard.type(said)
            sheet.page.keyboard.press("Enter")
            root.locator("> .sr-status", has_text="type").wait_for(timeout=SLOW)
            assert root.locator("[data-name='answer']").input_value() == said
            sheet.page.keyboard.press("Control+a")
            said = right_answer(question)
        if number == 2:
            others = [choice for choice in question.choices if choice != question.answer]
            said = others[0] if others else "77" if question.kind == "reads" else "none, Q1"
        marked = drill.answer(said)
        sheet.page.keyboard.type(said)
        sheet.page.keyboard.press("Enter")
        root.locator(".sr-marked", has_text="Right." if marked else "Not so.").wait_for(timeout=SLOW)
        root.locator(".sr-truth tr[data-chosen]").wait_for(timeout=SLOW)
        sheet.page.wait_for_function(f"({FOCUS})() === 'next question'", timeout=SLOW)
        if number in (2, 3):
            root.screenshot(path=SHOTS / f"{shot}_marked_{number}.png")
            assert not violations(sheet)
            assert not sheet.page.evaluate(OVERFLOW)
        sheet.page.keyboard.press("Enter")
        sheet.page.wait_for_function(f"({FOCUS})() === 'answer'", timeout=SLOW)
    assert sum(map(bool, drill.answers)) == 5
    root.locator(".sr-saved", has_text="5 of 6 right").wait_for(timeout=SLOW)
    for keys in ("a", "b", "x", "d", "d", "m", "Shift+Enter"):
        sheet.page.keyboard.press(keys)
    root.locator(".sr-answers button").first.or_(root.locator("[data-name='answer']")).first.focus()
    assert sheet.page.evaluate(NOTEBOOK) == cells, "no key reached the notebook"
