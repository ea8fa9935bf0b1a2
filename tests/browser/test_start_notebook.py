"""The start notebook in the lab: run it, type three readings by keyboard, see suspects and next probe change."""

import shutil

from tests.browser.bench import Bench
from tests.browser.conftest import OpenSheet
from tests.browser.lab import ROOT, Lab


def test_three_readings_by_keyboard_lead_to_the_coil(open_sheet: OpenSheet, lab: Lab) -> None:
    shutil.copyfile(ROOT / "notebooks" / "00_start_here.ipynb", lab.folder / "start.ipynb")
    cell = "import shouldread as sr\nbench = sr.bench('two_feed_enable')\nbench"
    sheet = open_sheet("start.ipynb", width=1280, height=1200)
    sheet.run_all()
    assert Bench(sheet, 1).suspects("likely") == ["L1 open"]  # the notebook's own readings

    fresh = open_sheet([cell], width=1280, height=1200)
    fresh.run_all()
    bench = Bench(fresh)
    bench.thought()
    bench.field("next probe").click()
    readings = {"EN": "0.02", "FEED": "0.58", "12V_AUX": "12.1", "AUX_S": "12.1", "AUX_IN": "12.1", "12V_MAIN": "12.1"}
    seen = []
    for _ in range(3):
        at = bench.probe
        seen.append(at)
        bench.typed(readings[at])
        fresh.page.wait_for_function(
            "([root, at]) => root.querySelector('.sr-leads .sr-place').textContent !== at"
            " || root.querySelector('.sr-probe .sr-finding').textContent",
            arg=[bench.root.element_handle(), at],
        )
        bench.all_saved()
        if not bench.root.locator(".sr-leads").is_visible():
            break
    assert len(set(seen)) == len(seen) >= 2
    assert "L1 open" in bench.suspects("likely")
    assert "left" in bench.text(".sr-side .sr-finding >> nth=1") or "left" in bench.status


def test_enter_goes_to_the_next_point(open_sheet: OpenSheet) -> None:
    sheet = open_sheet(["import shouldread as sr\nsr.bench('two_feed_enable')"])
    sheet.run_all()
    bench = Bench(sheet)
    bench.thought()
    bench.place("FEED").click()
    for value in ("0.58", "0.61"):
        bench.typed(value)
    bench.all_saved()
    assert bench.focused() == "X reads"
    bench.verdict("FEED").get_by_text("too low").wait_for()
    sheet.page.keyboard.press("ArrowUp")
    sheet.page.keyboard.press("Enter")  # on what stands: goes on, takes nothing twice
    bench.all_saved()
    bench.root.locator(".sr-rest summary", has_text="taken so far: 2").wait_for(timeout=60_000)
    sheet.page.wait_for_timeout(1000)
    assert bench.root.locator(".sr-taken li").count() == 2


def test_a_mistyped_reading_is_told_and_stays_in_its_field(open_sheet: OpenSheet) -> None:
    sheet = open_sheet(["import shouldread as sr\nsr.bench('two_feed_enable')"])
    sheet.run_all()
    bench = Bench(sheet)
    bench.thought()
    bench.place("EN").click()
    bench.typed("o.o2")
    bench.all_saved()
    assert "o.o2" in bench.status
    assert bench.place("EN").input_value() == "o.o2"
    bench.field("reading line").click()
    bench.typed("EM 0.02")
    bench.all_saved()
    assert "EM" in bench.status and bench.field("reading line").input_value() == "EM 0.02"
