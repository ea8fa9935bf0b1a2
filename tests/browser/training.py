"""What an apprentice does on the practice and drill screens, by keyboard alone once a field has the focus."""

import shouldread as sr
from playwright.sync_api import Locator
from shouldread.practice import Question

from tests.browser.sheet import Sheet

SLOW = 60_000  # ms within which an act must be answered, on a busy computer
FOCUS = "() => document.activeElement.dataset.name || ''"
PRACTICE = [
    "import shouldread as sr\nfrom shouldread.practice import seal",
    "token = seal('R2 open', circuit='npn_inverter_enable')",
    "task = sr.exercise(circuit='npn_inverter_enable', hidden=token, seed=1)\ntask",
]
DRILL = ["import shouldread as sr", "sr.drill('two_feed_enable', seed=11)"]


class Practice:
    """The practice screen of a notebook."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet, self.page = sheet, sheet.page
        self.root = sheet.page.locator(".shouldread")
        self.root.wait_for(state="visible", timeout=SLOW)

    def said(self, words: str) -> None:
        """Wait until the status line says it."""
        self.root.locator("> .sr-status", has_text=words).wait_for(timeout=SLOW)

    def focused(self) -> str:
        return str(self.page.evaluate("() => document.activeElement.getAttribute('aria-label') || ''"))

    def typed(self, text: str) -> None:
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")

    def predict(self, place: str, text: str) -> None:
        """Type a prediction where the focus is, then probe with Enter; the focus goes on to the next point."""
        assert self.focused() == f"{place} predicted"
        self.typed(text)
        self.said(f"{place}: ")
        assert self.focused() == f"probe {place}"

    def probe(self, place: str) -> str:
        self.page.keyboard.press("Enter")
        self.said(f"{place} ")
        shown = self.row(place).locator(".sr-shown")
        shown.filter(has_text="V").wait_for(timeout=SLOW)
        return shown.text_content() or ""

    def row(self, place: str) -> Locator:
        return self.root.locator("tr", has=self.page.locator(f"[data-predict='{place}']"))

    def at(self, place: str) -> None:
        """Wait until the focus is at the prediction of a place."""
        self.page.wait_for_function(
            "place => document.activeElement.dataset.predict === place", arg=place, timeout=SLOW
        )

    def tab_to(self, name: str) -> None:
        """Go by Tab alone to a control by its data-name."""
        for _ in range(40):
            self.page.keyboard.press("Tab")
            if self.page.evaluate(FOCUS) == name:
                return
        raise AssertionError(f"{name} cannot be reached by Tab")


def three_probed(sheet: Sheet) -> Practice:
    """Three points predicted and probed; the third prediction was the healthy value and still not what it read."""
    task = Practice(sheet)
    task.root.locator("svg [role=radio]").first.wait_for(timeout=SLOW)
    task.root.locator("[data-predict='V3']").focus()
    for place, text, after in (("V3", "3.3", "IN"), ("IN", "0", "B"), ("B", "0.65", "")):
        task.predict(place, text)
        task.probe(place)
        if after:
            task.at(after)
    return task


def stopped_and_named(sheet: Sheet) -> Practice:
    """An act that would destroy something is stopped; a wrong name is paid for; the right one ends it."""
    task = Practice(sheet)
    task.root.locator("[data-name='do']").focus()
    task.typed("inject 12 V at EN")
    task.said("stopped: 12.0 V into EN")
    task.tab_to("fault")
    task.typed("R3 open")
    task.said("R3 open is not it")
    task.page.keyboard.press("Control+a")
    task.typed("R2 open")
    task.said("right, but a guess")
    task.root.locator(".sr-back li", has_text="It was R2 open.").wait_for(timeout=120_000)
    task.root.locator(".sr-back li", has_text="A random walk").wait_for(timeout=SLOW)
    return task


class DrillPage:
    """The drill screen of a notebook, with the same drill in hand: the same dice, the same questions."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet, self.page = sheet, sheet.page
        self.drill = sr.drill("two_feed_enable", seed=11)
        self.root = sheet.page.locator(".shouldread")
        self.root.wait_for(state="visible", timeout=SLOW)
        self.root.locator("[data-name='answer']").or_(self.root.locator(".sr-answers button")).first.focus()

    @property
    def asked(self) -> Question:
        """The question that stands, once the page shows it with its field focused."""
        question = self.drill.question
        assert question is not None
        self.root.locator(".sr-asked", has_text=question.text).wait_for(timeout=SLOW)
        self.focused("answer")
        return question

    def focused(self, name: str) -> None:
        self.page.wait_for_function(f"name => ({FOCUS})() === name", arg=name, timeout=SLOW)

    def answer(self, said: str) -> None:
        """Type an answer and wait until it is marked, with the truth table, and the focus on what goes on."""
        marked = self.drill.answer(said)
        self.page.keyboard.type(said)
        self.page.keyboard.press("Enter")
        self.root.locator(".sr-marked", has_text="Right." if marked else "Not so.").wait_for(timeout=SLOW)
        self.root.locator(".sr-truth tr[data-chosen]").wait_for(timeout=SLOW)
        self.focused("next question")

    def go_on(self) -> None:
        self.page.keyboard.press("Enter")
        self.focused("answer")


def right_answer(question: Question) -> str:
    return f"{question.band.typical:.4g}" if question.band is not None else question.answer


def wrong_answer(question: Question) -> str:
    others = [choice for choice in question.choices if choice != question.answer]
    return others[0] if others else "77" if question.kind == "reads" else "none, Q1"
