"""One exercise played to its end by keyboard: predict, probe, be stopped, name, look back."""

from tests.browser.conftest import OpenSheet
from tests.browser.looks import ZOOMED, looks, overflow, violations
from tests.browser.training import PRACTICE, Practice, stopped_and_named, three_probed

ROOMS = {848: 1280, 468: 900, **ZOOMED}
WIDGETS = """() => JSON.stringify([...document.querySelectorAll('.shouldread')].map(e => e.outerHTML))
    + JSON.stringify(window.jupyterapp.shell.currentWidget.content.model.toJSON().cells.slice(2))"""


def _fits_everywhere(task: Practice) -> None:
    for room, theme in looks(task.sheet, ROOMS):
        assert overflow(task.sheet) == [], f"{room} {theme}"
        if room != 468:
            assert violations(task.sheet) == [], f"{room} {theme}"


def test_one_exercise_played_to_its_end_by_keyboard(open_sheet: OpenSheet) -> None:
    sheet = open_sheet(PRACTICE, height=1500)
    sheet.run_all()
    task = three_probed(sheet)
    told = task.row("B").text_content() or ""
    assert "✗" in told and "0.0 V" in told and "as it should be" in told
    _fits_everywhere(task)
    kept = str(sheet.page.evaluate(WIDGETS))
    assert kept.count("R2 open") == kept.count("R3 open") > 0  # in the list of what may be named, as all others are
    stopped_and_named(sheet)
    _fits_everywhere(task)
