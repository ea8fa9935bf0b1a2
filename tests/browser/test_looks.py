"""How the bench looks and reads: two widths, light, dark, forced colours, zoom, and what assistive tools find."""

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.bench import Bench
from tests.browser.conftest import OpenSheet
from tests.browser.scenes import DARK, WIDTHS, read_rails, read_stage, shot

CELL = "import shouldread as sr\nbench = sr.bench('two_feed_enable')\nbench"
DOOR = "import shouldread as sr\nbench = sr.bench()\nbench"
NARROW = "() => document.querySelector('.shouldread').clientWidth"
OVERFLOW = """() => [...document.querySelectorAll('.shouldread *')].filter(e => {
    const box = e.getBoundingClientRect(), root = document.querySelector('.shouldread').getBoundingClientRect();
    return box.width > 0 && box.right > root.right + 2 && !e.closest('.sr-scroll') && getComputedStyle(e).opacity !== '0';
}).map(e => e.className || e.tagName).slice(0, 5)"""


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("room", WIDTHS)
def test_stage_and_rails_fit_their_room(open_sheet: OpenSheet, room: int, theme: str) -> None:
    sheet = open_sheet([CELL, DOOR], width=WIDTHS[room], height=1800)
    if theme == "dark":
        sheet.page.evaluate(DARK)
    sheet.run_all()
    stage, door = Bench(sheet, 0), Bench(sheet, 1)
    read_stage(stage)
    assert abs(int(sheet.page.evaluate(NARROW)) - room) < 60
    assert sheet.page.evaluate(OVERFLOW) == []
    shot(stage, f"stage_{room}_{theme}")
    stage.root.locator(".sr-fault", has_text="L1 open").first.click()
    stage.root.locator(".sr-quiet", has_text="how to confirm").first.click()
    stage.root.locator(".sr-confirm li").first.wait_for(timeout=60_000)
    stage.root.locator(".sr-points .sr-under", has_text="V").nth(1).wait_for(timeout=60_000)
    shot(stage, f"stage_supposed_{room}_{theme}")
    read_rails(door)
    shot(door, f"rails_{room}_{theme}")
    assert door.rails()["5V"] == "too low, first wrong" and door.rails()["3V3"] == "too low, waits for 5V"
    assert door.rails()["EXP_1V8"] == "not judged"


def test_forced_colours_and_zoom(open_sheet: OpenSheet) -> None:
    sheet = open_sheet([CELL], width=900, height=1600, forced_colors="active")
    sheet.run_all()
    bench = Bench(sheet)
    read_stage(bench)
    shot(bench, "stage_468_forced")
    ring = "() => getComputedStyle(document.querySelector('.sr-spot[data-next] .sr-ring, .sr-spot .sr-ring')).stroke"
    assert sheet.page.evaluate(ring) != ""
    zoomed = open_sheet([CELL], width=640, height=1200, device_scale_factor=2)
    zoomed.run_all()
    other = Bench(zoomed)
    other.thought()
    shot(other, "stage_272_zoomed")
    size = "() => Number.parseFloat(getComputedStyle(document.querySelector('.sr-picture svg text')).fontSize)"
    svg = other.root.locator(".sr-picture svg")
    box, units = svg.bounding_box(), svg.get_attribute("viewBox")
    assert box and units
    assert float(zoomed.page.evaluate(size)) * box["width"] / float(units.split()[2]) >= 10.9


def test_assistive_tools_find_names_roles_and_contrast(open_sheet: OpenSheet, tmp_path: Path) -> None:
    sheet = open_sheet([CELL, DOOR], width=1280, height=1600)
    sheet.run_all()
    read_stage(Bench(sheet, 0))
    found = Axe().run(sheet.page, context=".shouldread", options={"runOnly": ["wcag2a", "wcag2aa"]})
    serious = [v["id"] + ": " + v["nodes"][0]["html"][:200] for v in found.response["violations"]]
    assert not serious, "\n".join(serious)
    root = Bench(sheet, 0).root
    for role in ("tab", "textbox", "radio", "status", "table", "rowheader", "columnheader"):
        assert root.get_by_role(role).count() > 0, role
