"""A dead kernel, a busy one, a closed tab: what was typed is kept and arrives."""

from tests.browser.bench import Bench
from tests.browser.conftest import OpenSheet

CELL = "import shouldread as sr\nbench = sr.bench('npn_inverter_enable')\nbench"
DEAD = "() => window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.restart()"
COUNT = "from shouldread.casebook import Casebook\nprint([str(r) for c in Casebook() for r in c.readings])"
OUTPUT = """n => window.jupyterapp.shell.currentWidget.content.model.cells.get(n).outputs.toJSON()
    .map(out => out.text || '').join('')"""


def test_a_dead_kernel_keeps_what_is_typed_and_the_cell_run_again_goes_on(open_sheet: OpenSheet) -> None:
    sheet = open_sheet([CELL, COUNT])
    sheet.run_all()
    bench = Bench(sheet)
    bench.thought()
    case = bench.text("h2")
    bench.place("EN").click()
    bench.typed("0.02")
    bench.all_saved()
    sheet.page.evaluate(DEAD)
    sheet.page.wait_for_timeout(1500)
    bench.place("B").click()
    bench.typed("0.61")
    bench.root.locator(".sr-notice", has_text="not answering").wait_for(timeout=15_000)
    assert "run this cell again" in bench.text(".sr-notice") and "1 not yet saved" in bench.text(".sr-saved")
    assert any("/waiting/" in key for key in bench.kept())

    sheet.run_all()
    again = Bench(sheet)
    again.thought()
    again.all_saved()
    sheet.page.wait_for_function(
        "root => root.querySelector(\"input[data-place='B']\")?.value === '0.61'",
        arg=again.root.element_handle(),
        timeout=60_000,
    )
    assert again.text("h2") == case and again.place("EN").input_value() == "0.02"
    assert not any("/waiting/" in key for key in again.kept())
    sheet.run_all()
    assert "B volts 0.61" in str(sheet.page.evaluate(OUTPUT, 1))


def test_a_half_typed_reading_survives_a_reload(open_sheet: OpenSheet) -> None:
    sheet = open_sheet([CELL])
    sheet.run_all()
    bench = Bench(sheet)
    bench.thought()
    bench.field("reading line").click()
    sheet.page.keyboard.type("en 0.0")
    sheet.page.wait_for_timeout(600)
    sheet.save()
    sheet.page.evaluate("() => window.onbeforeunload = null")
    sheet.page.reload()
    sheet.page.wait_for_selector(".shouldread", timeout=90_000)
    assert Bench(sheet).field("reading line").input_value() == "en 0.0"


def test_readings_are_answered_while_a_cell_runs(open_sheet: OpenSheet) -> None:
    sheet = open_sheet([CELL, "import time\ntime.sleep(60)\nprint('done')"])
    sheet.page.evaluate("() => { window.jupyterapp.commands.execute('notebook:run-all-cells'); }")
    bench = Bench(sheet)
    bench.thought()
    for value in ("0.02", "0.03"):
        bench.field("reading line").click()
        bench.typed(f"en {value}")
        bench.root.locator(".sr-status", has_text=f"{value[-1]}0 millivolts").wait_for(timeout=15_000)
    assert "done" not in str(sheet.page.evaluate(OUTPUT, 1))


def test_two_views_of_one_bench_show_the_same(open_sheet: OpenSheet) -> None:
    sheet = open_sheet([CELL, "from IPython.display import display\ndisplay(bench.widget)"], height=1600)
    sheet.run_all()
    one, two = Bench(sheet, 0), Bench(sheet, 1)
    one.thought()
    one.field("reading line").click()
    one.typed("en 0.02")
    one.all_saved()
    sheet.page.wait_for_function(
        "root => root.querySelector(\"input[data-place='EN']\").value === '0.02'", arg=two.root.element_handle()
    )
    two.field("undo").click()
    sheet.page.wait_for_function(
        "root => root.querySelector(\"input[data-place='EN']\").value === ''", arg=one.root.element_handle()
    )
