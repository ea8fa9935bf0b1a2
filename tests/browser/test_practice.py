"""One exercise played to its end by keyboard: predict, probe, be stopped, name, look back."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator

from tests.browser.conftest import SHOTS, OpenSheet
from tests.browser.sheet import Sheet
from tests.browser.test_looks import DARK, OVERFLOW

CELLS = [
    "import shouldread as sr\nfrom shouldread.practice import seal",
    "token = seal('R2 open', circuit='npn_inverter_enable')",
    "task = sr.exercise(circuit='npn_inverter_enable', hidden=token, seed=1)\ntask",
]
SLOW = 60_000  # ms within which an act must be answered, on a busy computer
WIDGETS = """() => JSON.stringify([...document.querySelectorAll('.shouldread')].map(e => e.outerHTML))
    + JSON.stringify(window.jupyterapp.shell.currentWidget.content.model.toJSON().cells.slice(2))"""


def violations(sheet: Sheet) -> list[str]:
    """What assistive tools would stumble over (WCAG 2.0 and 2.1, levels A and AA)."""
    found = Axe().run(sheet.page, context=".shouldread", options={"runOnly": ["wcag2a", "wcag2aa"]})
    return [v["id"] + ": " + v["nodes"][0]["html"][:200] for v in found.response["violations"]]


class Practice:
    """The practice screen of a notebook, worked by keyboard alone once a field has the focus."""

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

    def tab_to(self, name: str) -> None:
        """Go by Tab alone to a control by its data-name."""
        for _ in range(40):
            self.page.keyboard.press("Tab")
            if self.page.evaluate("() => document.activeElement.dataset.name || ''") == name:
                return
        raise AssertionError(f"{name} cannot be reached by Tab")

    def overflow(self) -> list[str]:
        return list(self.page.evaluate(OVERFLOW))


@pytest.mark.parametrize("width, dark", [(848, True), (848, False), (468, False)])
def test_one_exercise_played_to_its_end_by_keyboard(open_sheet: OpenSheet, width: int, dark: bool) -> None:
    sheet = open_sheet(CELLS, width={848: 1280, 468: 900}[width], height=1500)
    sheet.page.evaluate(DARK if dark else DARK.replace("Dark", "Light"))
    sheet.run_all()
    task = Practice(sheet)
    task.root.locator("svg [role=radio]").first.wait_for(timeout=SLOW)
    task.root.locator("[data-predict='V3']").focus()
    task.predict("V3", "3.3")
    task.probe("V3")
    sheet.page.wait_for_function("() => document.activeElement.dataset.predict === 'IN'", timeout=SLOW)
    task.predict("IN", "0")
    task.probe("IN")
    sheet.page.wait_for_function("() => document.activeElement.dataset.predict === 'B'", timeout=SLOW)
    task.predict("B", "0.65")
    assert "✗" in (task.row("B").text_content() or "") and "0.0 V" in (task.row("B").text_content() or "")
    task.probe("B")
    assert "as it should be" in (task.row("B").text_content() or "")
    shot = f"practice_{width}{'_dark' if dark else ''}"
    SHOTS.mkdir(exist_ok=True)
    task.root.screenshot(path=SHOTS / f"{shot}.png")
    assert not violations(sheet)
    kept = str(sheet.page.evaluate(WIDGETS))
    assert kept.count("R2 open") == kept.count("R3 open") > 0  # in the list of what may be named, as all others are
    assert not task.overflow()
    task.tab_to("do")
    task.typed("inject 12 V at EN")
    task.said("stopped: 12.0 V into EN")
    task.tab_to("fault")
    task.typed("R3 open")
    task.said("R3 open is not it")
    sheet.page.keyboard.press("Control+a")
    task.typed("R2 open")
    task.said("right, but a guess")
    task.root.locator(".sr-back li", has_text="It was R2 open.").wait_for(timeout=120_000)
    task.root.locator(".sr-back li", has_text="A random walk").wait_for(timeout=SLOW)
    task.root.screenshot(path=SHOTS / f"{shot}_end.png")
    assert not task.overflow()
    assert not violations(sheet)
