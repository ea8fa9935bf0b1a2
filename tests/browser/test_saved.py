"""The saved notebook: what was typed is in the file, and reads without a kernel, trusted or not."""

import json

from tests.browser.bench import Bench
from tests.browser.conftest import OpenSheet
from tests.browser.lab import Lab

CELL = "import shouldread as sr\nbench = sr.bench('npn_inverter_enable')\nbench"


def typed_and_saved(open_sheet: OpenSheet, lab: Lab) -> str:
    """A notebook in which one reading was typed, saved, its kernel gone; its file name."""
    sheet = open_sheet([CELL])
    sheet.run_all()
    bench = Bench(sheet)
    bench.thought()
    bench.place("EN").click()
    bench.typed("0.02")
    bench.all_saved()
    sheet.page.wait_for_timeout(3000)
    sheet.save()
    sheet.stop_kernels()
    return str(sheet.page.url).rpartition("/")[2].partition("?")[0]


def test_the_file_holds_picture_and_table_of_what_was_typed(open_sheet: OpenSheet, lab: Lab) -> None:
    name = typed_and_saved(open_sheet, lab)
    outputs = json.loads((lab.folder / name).read_text(encoding="utf-8"))["cells"][0]["outputs"]
    kinds = [set(output["data"]) for output in outputs]
    assert "image/png" in kinds[0] and "text/html" in kinds[1]
    assert "application/vnd.jupyter.widget-view+json" in kinds[2]
    table = "".join(outputs[1]["data"]["text/html"])
    assert "0.02" in table and "too low" in table

    sheet = open_sheet(name)
    page = sheet.page
    page.wait_for_selector("[data-shouldread-saved]", timeout=60_000)
    assert page.locator("[data-shouldread-saved]").is_visible()
    assert page.locator(".jp-RenderedImage img").first.is_visible()
    page.wait_for_timeout(4000)
    rows = page.locator(".jp-OutputArea-child").filter(has_text="Error displaying widget")
    assert not any(row.is_visible() for row in rows.all())


def test_a_strangers_copy_shows_picture_and_table(open_sheet: OpenSheet, lab: Lab) -> None:
    name = typed_and_saved(open_sheet, lab)
    notebook = json.loads((lab.folder / name).read_text(encoding="utf-8"))
    notebook["cells"][0]["source"] = "# from somebody else\n" + CELL
    notebook["metadata"].pop("signature", None)
    (lab.folder / "stranger.ipynb").write_text(json.dumps(notebook), encoding="utf-8")
    sheet = open_sheet("stranger.ipynb")
    page = sheet.page
    page.wait_for_selector(".jp-RenderedImage img", timeout=60_000)
    assert page.get_by_role("cell", name="too low").first.is_visible()
    assert page.locator(".shouldread").count() == 0


def test_the_live_widget_hides_its_saved_copy_and_nothing_else(open_sheet: OpenSheet) -> None:
    sheet = open_sheet(["import shouldread as sr\nprint('before')\nsr.bench('npn_inverter_enable')"])
    sheet.run_all()
    Bench(sheet).thought()
    assert not sheet.page.locator("[data-shouldread-saved]").is_visible()
    assert not sheet.page.locator(".jp-RenderedImage img").first.is_visible()
    assert sheet.page.get_by_text("before", exact=True).is_visible()
