"""A new coil in: what 12 V at 20 mA proves, what amps prove, and the page that goes out (common practice, no source)."""

from pathlib import Path

import pytest
import shouldread as sr
from PIL import Image
from shouldread.circuit import Circuit

SHUNT = """* a feed through contact, shunt and coil, rated 8 A
VAUX 12V_AUX 0 12
RJ1 12V_AUX AUX_IN 20m
RS1 AUX_IN AUX_S 10m
L1 AUX_S FEED 10u
RL FEED 0 2.2
*: [parts]
*: RJ1 = { detail = "contact" }
*: RS1 = { detail = "shunt" }
*: L1 = { dcr = "30m", amps = "8" }
*: RL = { detail = "load" }
"""


@pytest.fixture(scope="module")
def stage() -> Circuit:
    return sr.load_circuit("two_feed_enable")


def test_12_volts_behind_a_new_coil_at_20_milliamps_prove_nothing(stage: Circuit) -> None:
    sheet = sr.prove(stage, repaired="L1", before="FEED 0.58; EN 0.02", results="FEED 12.0 at 0.02 A")
    path = sheet["12V_AUX to FEED"]
    assert path.verdict == "not proven"
    assert "20 mV" in path.why, "a joint of 1 ohm loses 20 mV there: Ohm's law"
    assert any("12V_AUX to FEED" in row for row in sheet.unproven)
    assert any("L1 at rated amps" in row and "20 mA" in row for row in sheet.unproven)
    assert not sheet.passed


def test_5_5_amps_through_10_milliohms_is_55_millivolts_and_fine() -> None:
    """Ohm and Joule: 5.5 A x 10 mohm = 55 mV, 0.30 W."""
    sheet = sr.prove(sr.load_circuit(SHUNT), repaired="L1", results="RS1 55 mV at 5.5 A")
    assert sheet["RS1"].verdict == "right" and "55 mV and 0.3 W" in sheet["RS1"].why
    assert sheet.amps == 5.5
    assert sheet.entered("12V_AUX to FEED 0.33 at 5.5 A")["12V_AUX to FEED"].verdict == "right"
    passed = sr.prove(sr.load_circuit("two_feed_enable"), results="RS1 55 mV at 5.5 A; L1 0.17 at 5.5 A")
    assert "5.5 A is more than its 3 A" in passed["L1"].why, "what overloads a part is said"


@pytest.mark.parametrize("typed", ["12V_AUX to FEED 1.7 at 1.7 A", "12V_AUX 12.0 at 1.7 A; FEED 10.3 at 1.7 A"])
def test_1_7_volts_lost_at_1_7_amps_is_a_joint_of_about_an_ohm(stage: Circuit, typed: str) -> None:
    path = sr.prove(stage, repaired="L1", results=typed)["12V_AUX to FEED"]
    assert path.verdict == "wrong" and "a joint" in path.why
    ohms = float(path.why.partition("1.7 A: ")[2].partition(" Ω")[0])
    assert ohms == pytest.approx(1.0, abs=0.1)
    assert "2.7 W" in path.why, "0.94 ohm at 1.7 A: Joule's law"


def test_the_page_prints_without_a_kernel(stage: Circuit, tmp_path: Path) -> None:
    """Before and after, photos with marks, functional test and 30 min of stress: one file, no script, no network."""
    case = sr.Casebook(tmp_path / "casebook.sqlite").open("GC-0042", board="GH-CTRL-2", symptom="nothing spins")
    case.supply(volts=12, limit=0.5, amps=0.02, limiting=False)
    case.use(stage)
    before, after = "EN 0.02; FEED 0.58; 12V_AUX 12.1", "EN 2.31; FEED 12.0; 12V_AUX 12.1"
    case.read(before)
    case.did("L1 replaced", part="10 µH, 5 A", lot="2209")
    case.read("; ".join(f"{row} with after repair" for row in after.split("; ")))
    Image.new("RGB", (40, 30), "green").save(tmp_path / "board.png")
    case.attach(tmp_path / "board.png", marks=[(0.5, 0.5, "L1")], about="after soldering")
    case.cause("L1 open", class_="wear", confidence="sure", why="cracked beside a mounting hole")
    results = (
        f"{after}; 12V_AUX to FEED 0.1 at 1.7 A; function passed: valve and fan; stress 30 min; starts cold 5 of 5"
    )
    proof = sr.prove(stage, repaired="L1", before=before, results=results)
    case.proved(**proof.told())
    page, twin, *_ = case.write_up(tmp_path)
    html = page.read_text(encoding="utf-8")
    assert "<script" not in html and "http://" not in html and "https://" not in html
    for row in (
        "Readings before and after",
        "0.58",
        "12.0",
        "data:image/png",
        "L1 open",
        "passed: valve and fan",
        "30 min",
    ):
        assert row in html, row
    for row in ("at 1.7 A", "for 30 min", "function passed: valve and fan", "stress 30 min"):
        assert row in html.replace("&#39;", "'"), row
    assert "function passed" in twin.read_text(encoding="utf-8")


def test_the_sheet_in_a_notebook_escapes_what_was_typed(stage: Circuit) -> None:
    from shouldread.views.rich import html

    shown = html(sr.prove(stage, results="function failed: <b>smoke</b>"))
    assert "&lt;b&gt;smoke" in shown and "<b>smoke" not in shown
    assert "Not proven so far" in shown and "repeat starts" in shown
