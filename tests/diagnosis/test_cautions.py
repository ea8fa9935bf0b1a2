"""Cautions: derived from the circuit's own figures, each said once, and no live advice where it is forbidden."""

import ast
import math
import re
from pathlib import Path

import pytest
import shouldread as sr
from shouldread.diagnosis import caution_rule, cautions
from shouldread.diagnosis.cautions import UNITS, caution_rules
from shouldread.parts import KINDS

HIGH = "* high volts\nV1 IN 0 325\nR1 IN A 100k\nR2 A 0 100k\nC1 A 0 100u\n"


def said(text: str, act: str) -> dict[str, str]:
    return {c.rule: c.say for c in cautions(sr.load_circuit(text), act)}


def test_the_energy_of_a_capacitor_is_half_c_v_squared() -> None:
    """½ C V² (any textbook): 1 mF at 48 V holds 1.15 J, 22 uF at 3.3 V holds 0.12 mJ and is not worth a word."""
    assert any("1.15 J at 48 V" in c.say for c in cautions(sr.load_circuit("precharge_bleeder"), "ohms"))
    assert "stored charge" not in said("* s\nV1 A 0 3.3\nC1 A 0 22u\nR1 A 0 1k\n", "ohms")
    volts = math.sqrt(2 * caution_rule("stored charge").least / 1e-3)
    for factor, told in ((1.01, True), (0.99, False)):
        text = f"* edge\nV1 A 0 {factor * volts!r}\nC1 A 0 1m\nR1 A 0 1k\n"
        assert ("stored charge" in said(text, "ohms")) == told


def test_20_joules_are_left_to_licensed_practice() -> None:
    """IEC 60950-1: a hazardous energy level is 20 J or more at 2 V or more (from memory): 1 F at 6.4 V."""
    over = cautions(sr.load_circuit("* s\nV1 A 0 6.4\nC1 A 0 1\nR1 A 0 1k\n"), "")
    assert [c.rule for c in over if c.refer] == ["hazardous energy"]


@pytest.mark.parametrize(
    ("source", "refers"),
    [("60", False), ("61", True), ("-61", True), ("SIN(0 42 50)", False), ("SIN(0 43 50)", True)],
)
def test_volts_above_60_direct_or_30_alternating_forbid_live_work(source: str, refers: bool) -> None:
    """IEC 61140: 60 V ripple-free DC; 30 V rms is 42.4 V of amplitude (both from memory)."""
    circuit = sr.load_circuit(f"* s\nV1 A 0 {source}\nR1 A 0 10k\n")
    assert any(c.refer for c in cautions(circuit, "")) == refers


def test_where_live_work_is_forbidden_nobody_is_sent_there() -> None:
    circuit = sr.load_circuit(HIGH)
    found = sr.diagnose(circuit, "A 320")
    assert found.next_probes and all(p.setting in ("ohms", "diode") and p.state == "cold" for p in found.next_probes)
    told = sr.confirm(circuit, "R2 open")
    assert all(step.setting in ("ohms", "diode") for step in told.steps if step.if_right)
    sheet = sr.prove(circuit)
    assert {check.stage for check in sheet.checks} == {"cold table again"}
    for text in (str(found), str(told), str(sheet)):
        assert text.count("no live-probing advice") == 1
        assert "licensed practice" in text and "local codes" in text
    walk = sr.walk_rails("BUS nominal 325", "BUS 320")
    assert "no live-probing advice" in walk.caution and not walk.next_steps


def test_hot_parts_are_named_by_their_watts() -> None:
    """Joule: 12 V over 100 ohm is 1.44 W; over 1 k it is 0.14 W."""
    text = "* s\nV1 A 0 12\nR1 A 0 100\nR2 A 0 1k\n"
    told = [c for c in cautions(sr.load_circuit(text), "load") if c.rule == "hot part"]
    assert [c.at for c in told] == ["R1"] and "1.44 W" in told[0].say


def test_lithium_and_mains_are_told_by_the_files_own_words() -> None:
    text = "* s\n*: about = 'charger of a lithium cell'\nV1 A 0 4.2\nR1 A 0 1k\n"
    assert "4.2 V a cell" in said(text, "power")["lithium"]
    assert "unplug" in {c.rule: c.say for c in cautions(sr.load_circuit("controller_card"), "volts")}["mains"]
    assert "lithium" not in said(HIGH, "power")


@pytest.mark.parametrize("fault", ["L1 open", "C1 short", "Q1 collector open", "R1 open"])
def test_each_caution_is_said_once(fault: str) -> None:
    told = sr.confirm(sr.load_circuit("two_feed_enable"), fault)
    for caution in {c for step in told.steps for c in step.cautions}:
        assert str(told).count(caution) == 1


def test_every_rule_has_a_source_and_only_known_measures() -> None:
    with pytest.raises(sr.KitError, match="act"):
        cautions(None, "juggle")
    assert all(rule.source and rule.say and (rule.acts or rule.measure or rule.words) for rule in caution_rules())
    assert {rule.measure for rule in caution_rules() if rule.measure} == set(UNITS)
    assert [c.rule for c in cautions(None, "volts")] == ["slip"]
    with pytest.raises(sr.KitError, match="rule"):
        caution_rule("stored charg")


WARNING = re.compile(r"discharged first|limit first|strap on|licensed practice|pin-out|no live-probing", re.I)


def test_every_caution_of_the_kit_stands_in_the_one_table() -> None:
    """No room words one of its own: what sounds like a caution is in cautions.toml alone (docstrings aside)."""
    kit = Path(sr.__file__).parent
    for path in sorted([*kit.rglob("*.py"), *kit.rglob("*.toml")]):
        if path.name == "cautions.toml":
            continue
        text = path.read_text(encoding="utf-8")
        if path.suffix == ".toml":
            said = [line for line in text.splitlines() if not line.startswith("#")]
        else:
            tree = ast.parse(text)
            docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
            said = [
                n.value
                for n in ast.walk(tree)
                if isinstance(n, ast.Constant) and isinstance(n.value, str) and id(n) not in docs
            ]
        assert not [words for words in said if WARNING.search(words)], path


def test_what_a_file_warns_of_is_said_with_its_dangers() -> None:
    circuit = sr.load_circuit("two_feed_enable")
    stated = [c.say for c in cautions(circuit, "hand over") if c.rule == "stated"]
    assert any(words.startswith("Bridge L1 for a test only") for words in stated)
    assert not [c for c in cautions(circuit, "ohms") if c.rule == "stated"]


def test_fitting_a_part_has_its_own_caution() -> None:
    told = sr.choose_part(sr.load_circuit("two_feed_enable"), "Q1").cautions
    assert told == tuple(c.say for c in cautions(None, "fit Q")) and "pin-out" in told[0]


def test_every_kind_of_part_has_a_word_for_who_fits_a_new_one() -> None:
    for kind in [*KINDS, "X"]:
        assert [c.say for c in cautions(None, f"fit {kind}")], kind
