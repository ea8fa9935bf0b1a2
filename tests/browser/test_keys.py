"""Typing on any screen leaves the notebook as it was: the lab's own single keys cut, insert and run cells."""

import json
from collections.abc import Callable

import pytest

from tests.browser.bench import THOUGHT, Bench
from tests.browser.conftest import OpenSheet
from tests.browser.sheet import Sheet
from tests.browser.training import DRILL, PRACTICE, DrillPage, right_answer, three_probed

CELL = "import shouldread as sr\nbench = sr.bench('npn_inverter_enable')\nbench"
# Everything that can be focused, also what only the arrow keys reach; what changes the screen when it is used comes last.
CONTROLS = """() => {
    const all = [...document.querySelectorAll(`.shouldread :is(a, input, select, textarea, button, summary, [tabindex])`)];
    const rank = e => e.matches("select, [type=radio], [data-name='condition']") ? 2 : e.matches('button') ? 1 : 0;
    const seen = all.filter(e => e.checkVisibility() && !e.disabled).sort((a, b) => rank(a) - rank(b));
    document.querySelectorAll('[data-tried]').forEach(e => { delete e.dataset.tried; });
    seen.forEach((e, number) => { e.dataset.tried = number; });
    return seen.map(e => e.dataset.name || e.getAttribute('aria-label') || e.tagName);
}"""
FOCUS = """number => {
    const control = document.querySelector(`[data-tried='${number}']`);
    if (!control || !control.checkVisibility() || control.disabled) return false;
    control.focus({ preventScroll: true });
    return document.activeElement === control;
}"""
KEYS = ("a", "b", "x", "d", "d", "m", "ArrowDown", "Shift+Enter", "Control+Enter", "Alt+Enter")


def tried_every_control(sheet: Sheet, back: Callable[[], None] = lambda: None) -> list[str]:
    """Every key that the lab would act on, at every control that has the focus; the controls that were tried.

    ``back`` opens the screen again that a key has left: Enter on a tab opens the tab.
    """
    tried = []
    for number, name in enumerate(sheet.page.evaluate(CONTROLS)):
        for key in KEYS:
            if not sheet.page.evaluate(FOCUS, number):
                back()
                if not sheet.page.evaluate(FOCUS, number):
                    break  # what Enter has done took the control away
            sheet.page.keyboard.press(key)
            if "Enter" in key:
                tried.append(str(name))
    return tried


def test_no_key_on_any_control_of_the_bench_reaches_the_notebook(open_sheet: OpenSheet) -> None:
    sheet = open_sheet([CELL, "print('below')"], height=1800)
    sheet.run_all()
    bench = Bench(sheet)
    bench.thought()
    before = bench.notebook()
    tried: set[str] = set()
    for screen in ("rails", "trace", "stage", "proof"):
        tab = bench.field(f"tab {screen}")
        tab.click()
        if screen == "proof":
            bench.root.locator("[data-line]").first.wait_for(timeout=THOUGHT)
        tried |= set(tried_every_control(sheet, tab.click))
        assert json.loads(bench.notebook()) == json.loads(before), screen
    wanted = {"reading line", "board", "tab proof", "part", "Suppose", "EN reads", "EN gave", "undo", "write proof"}
    assert wanted <= tried, wanted - tried


def _one_answered(sheet: Sheet) -> None:
    page = DrillPage(sheet)
    page.answer(right_answer(page.asked))


@pytest.mark.parametrize(
    "cells, begun, wanted",
    [
        (PRACTICE, three_probed, {"do", "fault", "give up", "look and feel", "probe EN", "EN predicted", "State"}),
        (DRILL, _one_answered, {"answer", "next question", "Truth table"}),
    ],
    ids=["practice", "drill"],
)
def test_no_key_on_any_control_of_training_reaches_the_notebook(
    open_sheet: OpenSheet, cells: list[str], begun: Callable[[Sheet], object], wanted: set[str]
) -> None:
    sheet = open_sheet([*cells, "print('below')"], height=1800)
    sheet.run_all()
    begun(sheet)
    bench = Bench(sheet)
    before = bench.notebook()
    tried: set[str] = set()
    for _ in range(2):  # keys give up and go on: the second time another state of the screen
        tried |= set(tried_every_control(sheet))
        sheet.page.wait_for_timeout(1000)
    assert wanted <= tried, wanted - tried
    assert json.loads(bench.notebook()) == json.loads(before)


def test_saving_while_typing_still_saves(open_sheet: OpenSheet) -> None:
    sheet = open_sheet([CELL], height=1400)
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
