"""How the bench looks and reads: two widths, light, dark, forced colours, zoom, and what assistive tools find."""

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.bench import Bench
from tests.browser.conftest import SHOTS, OpenSheet

CELL = "import shouldread as sr\nbench = sr.bench('two_feed_enable')\nbench"
DOOR = "import shouldread as sr\nbench = sr.bench()\nbench"
RAILS = (
    ("12V nominal 12 ± 5 %", "12.1"),
    ("5V nominal 5 ± 5 % from 12V made by U3 enabled by EN5", "0.00"),
    ("3V3 from 5V made by U4", "0.00"),
    ("1V8 from 3V3 made by U5", ""),
    ("proc from 3V3", "0.02"),
    ("EXP_1V8 from EXP_3V3", ""),
)
WIDTHS = {848: 1280, 468: 900}  # room of a cell's output in a window of that width, file browser open
NARROW = "() => document.querySelector('.shouldread').clientWidth"
OVERFLOW = """() => [...document.querySelectorAll('.shouldread *')].filter(e => {
    const box = e.getBoundingClientRect(), root = document.querySelector('.shouldread').getBoundingClientRect();
    return box.width > 0 && box.right > root.right + 2 && !e.closest('.sr-scroll') && getComputedStyle(e).opacity !== '0';
}).map(e => e.className || e.tagName).slice(0, 5)"""
DARK = (
    "() => window.jupyterapp.commands.execute('apputils:change-theme', { theme: 'JupyterLab Dark' }).then(() => null)"
)


def read_stage(bench: Bench) -> None:
    bench.thought()
    for place, value in (("12V_AUX", "12.1"), ("FEED", "0.58"), ("EN", "0.02")):
        bench.place(place).click()
        bench.typed(value)
    bench.all_saved()
    bench.verdict("EN").get_by_text("too low").wait_for(timeout=60_000)


def read_rails(bench: Bench) -> None:
    bench.field("board").fill("GH-CTRL-2")
    bench.field("symptom").click()
    bench.typed("nothing spins, no lamp")
    for name, value in (("supply volts", "12"), ("supply limit", "0.5"), ("supply amps", "0.02")):
        bench.field(name).click()
        bench.typed(value)
    bench.all_saved()
    for line, value in RAILS:
        name, _, facts = line.partition(" ")
        bench.field("new rail").click()
        bench.typed(f"{name} {value}" if value else name)
        if not value:
            bench.page.keyboard.press("Enter")
        bench.all_saved()
        row = bench.root.locator(".sr-rails tbody tr", has_text=name).first
        row.wait_for(timeout=30_000)
        row.locator("input.sr-facts").click()
        bench.typed(facts)
        bench.all_saved()
    bench.field("reading line").click()
    bench.typed("U3.VIN 12.1; EN5 0.02")
    bench.all_saved()
    bench.root.locator(".sr-finding", has_text="First wrong rail: 5V").wait_for(timeout=30_000)


def shot(bench: Bench, name: str) -> None:
    """A picture of the whole bench, for whoever wants to look."""
    SHOTS.mkdir(exist_ok=True)
    bench.page.wait_for_timeout(300)
    bench.root.screenshot(path=SHOTS / f"{name}.png")


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
