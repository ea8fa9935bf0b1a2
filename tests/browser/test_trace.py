"""Tracing a stage by keyboard, to its place on the bench; nothing that is typed gets lost."""

import time

from tests.browser.bench import Bench
from tests.browser.conftest import OpenSheet
from tests.browser.looks import OVERFLOW

CELL = "import shouldread as sr\nbench = sr.bench()\nbench"
LINES = (
    "VMAIN at 12V_MAIN 12",
    "VAUX at 12V_AUX 12",
    "L1 from 12V_AUX to FEED 10u",
    "R? from FEED to Q7.2 47k",
    "Q7 npn pair 1 GND 6 X",
    "R? from Q7.2 to GND ?",
    "R? from 12V_MAIN to X 47k",
    "R? from X to Q7.5 10k",
    "R? from Q7.5 to GND 47k",
    "R? from 12V_MAIN to Q7.3 42.2k",
    "Q7.3 is EN",
    "Q7.4 is GND",
    "R? from EN to GND 10k",
)


def traced_bench(open_sheet: OpenSheet, **window: int) -> Bench:
    sheet = open_sheet([CELL], height=1700, **window)
    sheet.run_all()
    bench = Bench(sheet)
    bench.field("tab trace").click()
    bench.field("part").click()
    return bench


def type_line(bench: Bench, line: str) -> None:
    bench.typed(line)
    bench.all_saved()


def texts(bench: Bench) -> list[str]:
    """The lines as they stand, the first typed first."""
    return [text or "" for text in bench.root.locator(".sr-parts code").all_text_contents()][::-1]


def test_a_stage_is_traced_drawn_and_put_on_the_bench(open_sheet: OpenSheet) -> None:
    bench = traced_bench(open_sheet)
    bench.field("stage name").fill("Enable of the 5 V converter")
    bench.page.keyboard.press("Enter")
    for line in LINES:
        type_line(bench, line)
    bench.root.locator(".sr-counted", has_text="14 parts").or_(
        bench.root.locator(".sr-counted", has_text="12 parts")
    ).wait_for()
    assert texts(bench)[3] == "R1 from FEED to Q7.2 47k", "numbered"
    drawing = bench.root.locator(".sr-trace .sr-picture svg")
    drawing.wait_for()
    assert drawing.locator("text", has_text="FEED").count() >= 1
    assert bench.root.locator(".sr-trace .sr-likes b", has_text="needs both feeds").count() == 1
    assert "R2 Q7.2 0" in bench.field("netlist").input_value()
    assert bench.page.evaluate(OVERFLOW) == []
    bench.field("use").click()
    bench.root.locator("[data-name='tab stage'][aria-selected='true']").wait_for()
    bench.thought()
    bench.place("FEED").click()
    bench.typed("0.58")
    bench.verdict("FEED").get_by_text("too low").wait_for(timeout=60_000)


def test_a_mistake_is_said_beside_its_line_and_mended_with_arrow_up(open_sheet: OpenSheet) -> None:
    bench = traced_bench(open_sheet)
    type_line(bench, "R1 from A to B 10k")
    type_line(bench, "R2 from B to GND 10q")
    wrong = bench.root.locator(".sr-parts .sr-wrong", has_text="write its value last, such as 47k")
    wrong.wait_for()
    bench.page.keyboard.press("ArrowUp")
    assert bench.field("part").input_value() == "R2 from B to GND 10q"
    bench.page.keyboard.press("Backspace")
    type_line(bench, "k")
    wrong.wait_for(state="detached")
    assert texts(bench) == ["R1 from A to B 10k", "R2 from B to GND 10k"]
    bench.page.keyboard.press("ArrowUp")
    bench.page.keyboard.press("Control+a")
    bench.page.keyboard.press("Delete")
    bench.page.keyboard.press("Enter")
    bench.all_saved()
    bench.root.locator(".sr-counted", has_text="1 part,").wait_for()
    bench.field("untrace").click()
    bench.root.locator(".sr-counted", has_text="2 parts,").wait_for()


def test_words_and_netlist_are_two_views(open_sheet: OpenSheet) -> None:
    bench = traced_bench(open_sheet)
    for line in ("VA at A 12", "R1 from A to B 10k", "R2 from B to GND ?"):
        type_line(bench, line)
    bench.root.locator(".sr-netbox summary").click()
    area = bench.field("netlist")
    bench.page.wait_for_function("a => a.value.includes('R2 B 0')", arg=area.element_handle())
    area.fill(area.input_value().replace("R1 A B 10k", "R1 A B 22k\nC1 B 0 100n"))
    bench.root.locator("button", has_text="take the netlist").click()
    bench.root.locator(".sr-parts code", has_text="C1 from B to GND 100n").wait_for()
    assert texts(bench) == ["VA at A 12", "R1 from A to B 22k", "C1 from B to GND 100n", "R2 from B to GND ?"]
    area.fill(area.input_value().replace("R1 A B 22k", "R1 A B twenty"))
    bench.root.locator("button", has_text="take the netlist").click()
    bench.root.locator(".sr-netbox .sr-wrong", has_text="line").wait_for()
    assert "twenty" in area.input_value(), "what was typed stays to be mended"


def test_each_line_is_drawn_at_once(open_sheet: OpenSheet) -> None:
    bench = traced_bench(open_sheet)
    for line in LINES[:-1]:
        type_line(bench, line)
    bench.root.locator(".sr-counted", has_text="11 parts").or_(
        bench.root.locator(".sr-counted", has_text="12 parts")
    ).wait_for()
    begun = time.monotonic()
    bench.typed(LINES[-1])
    bench.root.locator(".sr-trace .sr-picture text", has_text="R7").wait_for()
    assert time.monotonic() - begun < 3.0
