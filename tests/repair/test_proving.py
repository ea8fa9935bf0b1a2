"""The hand-over sheet: derived from the board, filled in as typed, honest about what nobody has shown."""

import pytest
import shouldread as sr
from shouldread.circuit import Circuit
from shouldread.repair import Proof, feed_path, joint

SHEET = """12V nominal 12 ± 8 %
5V nominal 5 ± 5 % from 12V made by U3 enabled by EN5
3V3 nominal 3.3 ± 3 % from 5V made by U4"""


@pytest.fixture(scope="module")
def card() -> Proof:
    return sr.prove(sr.load_circuit("controller_card"), repaired="L2", before="5V 0.05; EN5 0.02; L2 ohms OL")


@pytest.fixture(scope="module")
def stage() -> Circuit:
    return sr.load_circuit("two_feed_enable")


def test_the_sheet_follows_the_road_of_a_bring_up(card: Proof) -> None:
    """Common practice, no source: cold again, limited power-up, rails in order, order, current, load, stress, starts."""
    stages = list(dict.fromkeys(check.stage for check in card.checks))
    assert stages == [
        "cold table again", "limited power-up", "rails", "enable order", "input current", "feed under load",
        "function", "stress", "repeat starts",
    ]  # fmt: skip
    rails = [check.key for check in card.checks if check.stage == "rails"]
    assert rails == ["12V_MAIN", "12V_AUX", "5V", "3V3", "1V8", "LOGIC", "3V3_RF"], "in start-up order"
    assert (card["5V"].low, card["5V"].high) == (pytest.approx(4.75), pytest.approx(5.25)), "as the rail sheet says"
    assert card["5V"].before == "0.05" and card["L2 ohms"].before == "OL"
    assert card["L2 ohms"].high < 0.6
    assert "EN5, 5V, EN3, 3V3" in card["order"].action
    assert "30 min" in card["stress"].action and not card.passed and card.amps == card.minutes == 0


def test_the_amps_of_a_good_board_are_those_that_the_solver_gives(card: Proof) -> None:
    circuit = sr.load_circuit("controller_card")
    amps = -sr.solve(circuit).pin_amps["XMAIN.P"]
    assert card["XMAIN amps"].low < amps < card["XMAIN amps"].high
    limit = card["power-up"].action.partition("limit at ")[2].partition(" A")[0]
    assert amps < float(limit) < 2 * amps


def test_feed_paths_end_at_the_next_rail(card: Proof) -> None:
    paths = {check.key: check.path for check in card.checks if check.path is not None}
    assert {"J1_12V to 12V_MAIN", "J2_12V to 12V_AUX", "12V_MAIN to SENSOR", "5V_OUT to 5V", "L2"} <= set(paths)
    path = paths["J2_12V to 12V_AUX"]
    assert path is not None and path.parts == ("RJ2", "RF2", "RS2", "L2")


def test_everything_right_passes() -> None:
    circuit = sr.load_circuit("* lamp\nV1 IN 0 12\nR1 IN OUT 1k\nR2 OUT 0 1k\n")
    sheet = sr.prove(
        circuit, results="IN ohms 2k; OUT ohms 1.0k; power-up not limiting; IN 12.0; OUT 6.0; V1 amps 6 mA"
    )
    sheet = sheet.entered("function passed; stress 30 min; starts cold 5 of 5; starts warm 5")
    assert [check.key for check in sheet.checks if check.verdict != "right"] == []
    assert sheet.passed and not sheet.unproven and sheet.minutes == 30
    assert sheet.amps == pytest.approx(6e-3)
    assert not sheet.entered("OUT 3.0").passed, "a later reading of the same line stands"


@pytest.mark.parametrize(
    ("typed", "key", "verdict", "why"),
    [
        ("5V 4.2", "5V", "wrong", "below"),
        ("5V 5.02", "5V", "right", ""),
        ("3V3 3.6", "3V3", "wrong", "above"),
        ("LOGIC ohms 0.1", "LOGIC ohms", "wrong", "below"),
        ("power-up limiting", "power-up", "wrong", "cold ohms"),
        ("input 0.21 A", "XMAIN amps", "right", ""),
        ("input 0.9 A", "XMAIN amps", "wrong", "above"),
        ("order 12V_MAIN 12V_AUX EN5 5V EN3 3V3 EN18 1V8 EN10 LOGIC 3V3_RF", "order", "right", ""),
        ("order 12V_MAIN 12V_AUX 5V EN5", "order", "wrong", "5V before EN5"),
        ("order 12V_MAIN 12V_AUX EN5 5V", "order", "not proven", "not watched: 3V3"),
        ("function failed: the valve does not click", "function", "wrong", "the valve does not click"),
        ("stress 10 min", "stress", "not proven", "30 min"),
        ("stress 10 min; stress 30 min", "stress", "right", ""),
        ("X1 44 °C at 5 min; X1 47 °C at 30 min", "X1 °C", "right", ""),
        ("X1 44 °C at 5 min; X1 61 °C at 30 min", "X1 °C", "not proven", "climbing"),
        ("X1 97 °C at 5 min", "X1 °C", "wrong", "hotter than 85"),
        ("starts cold 4 of 5", "starts cold", "wrong", "1 of 5"),
        ("starts warm 2 of 2", "starts warm", "not proven", "5 are asked"),
    ],
)
def test_results_are_judged_line_by_line(card: Proof, typed: str, key: str, verdict: str, why: str) -> None:
    check = card.entered(typed)[key]
    assert check.verdict == verdict and why in check.why and check.shown


def test_what_cannot_be_taken_is_named_and_nothing_else_is_lost(card: Proof) -> None:
    with pytest.raises(sr.KitError) as told:
        card.entered("5V 5.0; 5W 3; order EN5 6V; 5V 5 at -2 A")
    assert all(line in str(told.value) for line in ("'5W 3'", "'order EN5 6V'", "'5V 5 at -2 A'"))
    assert "'5V 5.0'" not in str(told.value)


def test_a_rail_sheet_without_a_circuit_is_enough() -> None:
    sheet = sr.prove(
        SHEET, before="5V 0.02", results="12V 12.1; 5V 5.0; 3V3 2.9; 5V ohms 1.2k; input 0.4 A; order 12V EN5 5V 3V3"
    )
    assert [sheet[k].verdict for k in ("12V", "5V", "3V3")] == ["right", "right", "wrong"]
    assert sheet["5V"].before == "0.02" and sheet["order"].verdict == "right"
    assert sheet["input"].verdict == "not proven" and sheet.amps == 0.4
    assert sheet["5V ohms"].verdict == "right" and "usual" in sheet["5V ohms"].why, "by rule of thumb, and said so"


def test_a_path_is_its_parts_in_series(stage: Circuit) -> None:
    """Resistances in series add (any textbook): 20 + 10 + 30 mohm."""
    path = feed_path(stage, "12V_AUX", "FEED")
    assert path is not None and path.nominal == pytest.approx(0.060) and path.low < 0.060 < path.high
    told = joint(path, 1.7, 1.7, 0.01)
    assert told.ohms == pytest.approx(1.0 - 0.060) and told.watts == pytest.approx(0.94 * 1.7**2)
    assert told.low < told.ohms < told.high
    assert feed_path(stage, "12V_MAIN", "FEED") is None


def test_what_a_case_keeps_of_it(card: Proof) -> None:
    done = card.entered("5V 5.02; 5V 4.98; input 0.21 A; stress 30 min; function passed; 3V3 3.6")
    told = done.told()
    assert told["amps"] == pytest.approx(0.21) and told["minutes"] == 30
    assert told["rails"] == "5V 4.98, 3V3 3.6"
    assert "function passed" in str(told["text"]) and "3V3: above 3.4 V" in str(told["text"])
    assert {"stage", "key", "should", "before", "shown", "verdict"} <= set(done.frame().columns)
    assert "not proven so far:" in str(done) and "L1, L2, L3 at rated amps: 0.21 A at most" in str(done)


@pytest.mark.parametrize("entry", [e.name for e in sr.shelf() if e.sort == "fragment"])
def test_every_circuit_of_the_shelf_has_a_sheet_that_its_own_solution_passes(entry: str) -> None:
    """Derived bands hold the solver's own nominal answer, on every circuit."""
    circuit = sr.load_circuit(entry)
    sheet = sr.prove(circuit)
    volts = sr.solve(circuit).volts
    typed = "; ".join(
        f"{c.key} {volts[c.key]!r} V" for c in sheet.checks if c.stage == "rails" and volts[c.key] == volts[c.key]
    )
    done = sheet.entered(typed)
    assert typed and not done.wrong, [str(c) for c in done.wrong]


def test_a_stage_and_the_rails_of_its_board_make_one_sheet(stage: Circuit) -> None:
    """The stage's own nodes by its circuit, the rest of the board by its rail sheet, in one start-up order."""
    sheet = sr.prove(stage, rails=SHEET.replace("12V nom", "12V_AUX nom").replace("from 12V ", "from 12V_AUX "))
    keys = [check.key for check in sheet.checks]
    assert ["12V_AUX", "5V", "3V3", "12V_MAIN", "EN"] == [c.key for c in sheet.checks if c.stage == "rails"]
    assert {"5V ohms", "EN ohms", "order", "12V_AUX to FEED", "VMAIN amps"} <= set(keys)
    assert len(keys) == len(set(keys)), "no line stands twice"
    now = sheet.entered("5V 5.02; 3V3 2.9; EN 2.3; 3V3 ohms 350; EN ohms 1; order 12V_AUX EN5 5V 3V3")
    verdicts = [now[k].verdict for k in ("5V", "3V3", "EN", "3V3 ohms", "EN ohms", "order")]
    assert verdicts == ["right", "wrong", "right", "right", "wrong", "right"]
    with pytest.raises(sr.KitError, match="5W"):
        sheet.entered("5W 3")
    assert sr.prove(stage, rails=SHEET, before="5V 0.05; EN 0.02")["5V"].before == "0.05"


def test_why_it_failed_stands_on_the_sheet_or_is_asked_for(stage: Circuit) -> None:
    asked = sr.prove(stage, repaired="L1", cause="L1 open")
    assert "cause: L1 open" in str(asked) and any("why L1 failed: not said" in row for row in asked.unproven)
    told = sr.prove(stage, repaired="L1", cause="L1 open", why="the clamp behind it was short")
    assert "why it failed: the clamp behind it was short" in str(told) and not any("why" in r for r in told.unproven)
    assert not any("why" in row for row in sr.prove(stage).unproven), "nothing was replaced: nothing failed here"
