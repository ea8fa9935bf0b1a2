"""One bench in an open notebook, and what a technician does to it with the keyboard."""

from playwright.sync_api import Locator

from tests.browser.sheet import Sheet

TAKEN = 10_000  # ms within which a reading must be on the disk
THOUGHT = 120_000  # ms within which the first thought must be there, on a busy computer
CELLS = """() => JSON.stringify([...window.jupyterapp.shell.currentWidget.content.model.cells].map(
    cell => [cell.type, cell.sharedModel.getSource(), cell.executionCount]))"""
KEPT = "() => Object.keys(localStorage).filter(key => key.startsWith('shouldread/'))"


class Bench:
    """The bench number ``n`` of a notebook page."""

    def __init__(self, sheet: Sheet, n: int = 0) -> None:
        self.sheet, self.page = sheet, sheet.page
        self.root = sheet.page.locator(".shouldread").nth(n)
        self.root.wait_for(state="visible", timeout=60_000)

    def field(self, name: str) -> Locator:
        """A field by its name: ``next probe``, ``reading line``, ``board``."""
        return self.root.locator(f"[data-name='{name}']")

    def place(self, place: str) -> Locator:
        """The visible field of a point, a rail or a next place."""
        return self.root.locator(f"input[data-place='{place}']:visible")

    def verdict(self, place: str) -> Locator:
        """The verdict beside a place's field."""
        return self.place(place).locator("xpath=ancestor::tr").locator(".sr-word")

    def typed(self, text: str) -> None:
        """Type where the focus is, and Enter."""
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")

    def all_saved(self) -> None:
        """Wait until everything typed is on the disk."""
        self.root.locator(".sr-saved", has_text="all saved").wait_for(timeout=TAKEN)

    def thought(self) -> None:
        """Wait until the stage says what every point should read."""
        self.page.wait_for_function(
            "root => !root.querySelector('.sr-stage')?.textContent.includes('Working out')",
            arg=self.root.element_handle(),
            timeout=THOUGHT,
        )

    def text(self, selector: str) -> str:
        """The text of the first element that fits."""
        return self.root.locator(selector).first.text_content() or ""

    @property
    def status(self) -> str:
        """The line that says what happened."""
        return self.text(".sr-status")

    @property
    def probe(self) -> str:
        """Where the next probe goes."""
        return self.text(".sr-leads .sr-place")

    def suspects(self, rank: str) -> list[str]:
        """The faults of a rank, as listed."""
        head = self.root.locator(f".sr-panel h4:text-is('{rank}') + ul .sr-fault")
        return [name or "" for name in head.all_text_contents()]

    def rails(self) -> dict[str, str]:
        """Verdict words by rail."""
        rows = self.root.locator(".sr-rails tbody tr")
        return {
            (row.locator("th").text_content() or ""): (row.locator(".sr-word").text_content() or "")
            for row in rows.all()
        }

    def notebook(self) -> str:
        """The cells of the notebook, to see that none was touched."""
        return str(self.page.evaluate(CELLS))

    def kept(self) -> list[str]:
        """What the browser keeps for a kernel that has not answered."""
        return list(self.page.evaluate(KEPT))

    def focused(self) -> str:
        """The accessible name of what has the focus."""
        return str(self.page.evaluate("() => document.activeElement.getAttribute('aria-label') || ''"))
