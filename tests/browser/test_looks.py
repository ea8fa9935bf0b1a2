"""How the bench looks and reads: rooms, light, dark, forced colours, zoom, and what assistive tools find."""

from tests.browser.bench import Bench
from tests.browser.conftest import OpenSheet
from tests.browser.looks import ZOOMED, looks, overflow, turn, violations
from tests.browser.scenes import prove_board, read_rails, read_stage, suppose_and_confirm

CELL = "import shouldread as sr\nbench = sr.bench('two_feed_enable')\nbench"
DOOR = "import shouldread as sr\nbench = sr.bench()\nbench"
SCREENS = ("rails", "trace", "stage", "proof")
WIDE = {848: 1280, 468: 900, **ZOOMED}
COLOURS = "e => { const s = getComputedStyle(e); return [s.borderBottomColor, s.backgroundColor]; }"
MOVING = """() => [...document.querySelectorAll('.shouldread, .shouldread *')].filter(e => e.getAnimations().length
    || !/^0s(, 0s)*$/.test(getComputedStyle(e).transitionDuration)).length"""
IN_VIEW = """([root, place]) => {
    const box = root.querySelector('.sr-stage .sr-picture').getBoundingClientRect();
    const spot = root.querySelector(`.sr-stage svg [data-node='${place}'] .draw-hit`).getBoundingClientRect();
    return spot.left >= box.left && spot.right <= box.right;
}"""
SMALLEST = """() => Math.min(...[...document.querySelectorAll('.shouldread *')].filter(
    e => e.checkVisibility() && [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())).map(e => {
        const svg = e.closest('svg'), size = Number.parseFloat(getComputedStyle(e).fontSize);
        return svg ? size * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : size; }))"""


def test_every_screen_in_every_look(open_sheet: OpenSheet) -> None:
    """The four screens of a bench at work, in three rooms (one of them 200 % zoom) and two themes."""
    sheet = open_sheet([CELL, DOOR], height=3400)
    sheet.run_all()
    stage, door = Bench(sheet, 0), Bench(sheet, 1)
    read_stage(stage)
    prove_board(stage)
    stage.field("tab stage").click()
    suppose_and_confirm(stage)
    read_rails(door)
    assert door.rails()["5V"] == "too low, first wrong" and door.rails()["3V3"] == "too low, waits for 5V"
    assert door.rails()["EXP_1V8"] == "not judged"
    for room, theme in looks(sheet, WIDE):
        for screen in SCREENS:
            stage.field(f"tab {screen}").click()
            assert overflow(sheet) == [], f"{screen} in {room}, {theme}"
            assert float(sheet.page.evaluate(SMALLEST)) >= 10.9, f"{screen} in {room}"
            if room != 468:
                assert violations(sheet) == [], f"{screen} in {room}, {theme}"
    stage.field("tab stage").click()
    for role in ("tab", "textbox", "radio", "status", "table", "rowheader", "columnheader"):
        assert stage.root.get_by_role(role).count() > 0, role
    assert sheet.page.evaluate(MOVING) == 0, "nothing moves, so nothing need be reduced"


def test_forced_colours_tell_all_by_shape_and_a_narrow_view_follows(open_sheet: OpenSheet) -> None:
    sheet = open_sheet([CELL], width=1280, height=1800, forced_colors="active")
    sheet.run_all()
    bench = Bench(sheet)
    read_stage(bench)
    turn(sheet, 848)
    chosen, other = (bench.field(f"tab {name}").evaluate(COLOURS) for name in ("stage", "rails"))
    assert chosen[0] != other[0], "the open screen is underlined alone"
    for place, look in (("AUX_S", "unread"), ("FEED", "wrong")):
        spot = bench.root.locator(f"svg [data-node='{place}'][role=radio]")
        assert spot.get_attribute("data-look") == look
        covered = "e => getComputedStyle(e.querySelector('.sr-plate')).fill"
        assert spot.evaluate(covered) == "none", f"{place}: its circle, or its mark, is not covered"
    shown = bench.root.locator("svg [data-node='FEED'][role=radio] .sr-mark")
    assert shown.evaluate("e => getComputedStyle(e).fill") != "none" and bench.verdict("FEED").text_content()
    turn(sheet, 468, height=1800)
    for place in ("12V_AUX", "EN", "12V_AUX"):  # the drawing is wider than the room
        bench.place(place).focus()
        assert sheet.page.evaluate(IN_VIEW, [bench.root.element_handle(), place]), place
