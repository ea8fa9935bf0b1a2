"""Typing at the bench leaves the notebook as it was: the lab's own single keys cut, insert and run cells."""

import json

import pytest

from tests.browser.bench import Bench
from tests.browser.conftest import OpenSheet

CELL = "import shouldread as sr\nbench = sr.bench('npn_inverter_enable')\nbench"
CONTROLS = ".shouldread :is(input, select, button, summary, [tabindex='0'])"
KEYS = ("a", "b", "x", "d", "d", "m", "y", "z", "ArrowDown", "Shift+Enter", "Control+Enter", "Alt+Enter")


@pytest.mark.parametrize("screen", ["rails", "trace", "stage"])
def test_no_key_on_any_control_reaches_the_notebook(open_sheet: OpenSheet, screen: str) -> None:
    sheet = open_sheet([CELL, "print('below')"])
    sheet.run_all()
    bench = Bench(sheet)
    bench.thought()
    bench.field(f"tab {screen}").click()
    before = bench.notebook()
    tried = 0
    for control in sheet.page.locator(CONTROLS).all():
        if not control.is_visible() or control.is_disabled():
            continue
        control.focus()
        for key in KEYS:
            sheet.page.keyboard.press(key)
        sheet.page.keyboard.press("Escape")
        tried += 1
        if not bench.root.locator(f"[data-name='tab {screen}'][aria-selected='true']").count():
            bench.field(f"tab {screen}").click()
    assert tried >= 8, "controls that were found"
    assert json.loads(bench.notebook()) == json.loads(before)


def test_saving_while_typing_still_saves(open_sheet: OpenSheet) -> None:
    sheet = open_sheet([CELL])
    sheet.run_all()
    bench = Bench(sheet)
    bench.thought()
    bench.field("reading line").click()
    sheet.page.keyboard.type("EN 0.0")
    sheet.page.keyboard.press("Control+s")
    sheet.page.wait_for_function("() => !window.jupyterapp.shell.currentWidget.context.model.dirty", timeout=20_000)
    assert bench.field("reading line").input_value() == "EN 0.0"


def test_one_tab_stop_for_the_drawing_and_arrows_inside(open_sheet: OpenSheet) -> None:
    sheet = open_sheet([CELL], height=1400)
    sheet.run_all()
    bench = Bench(sheet)
    bench.thought()
    spots = bench.root.locator("svg [role=radio]")
    spots.first.wait_for()
    assert spots.count() >= 4
    stops = [spot for spot in spots.all() if spot.get_attribute("tabindex") == "0"]
    assert len(stops) == 1
    stops[0].focus()
    names = {bench.focused().split(",")[0]}
    for key in ("ArrowRight", "ArrowDown", "ArrowLeft", "ArrowUp") * 3:
        sheet.page.keyboard.press(key)
        names.add(bench.focused().split(",")[0])
    assert len(names) >= 3
    assert bench.root.locator("svg [role=radio][tabindex='0']").count() == 1
    place = bench.focused().split(",")[0]
    sheet.page.keyboard.press("Enter")
    assert bench.focused() == f"{place} reads"
