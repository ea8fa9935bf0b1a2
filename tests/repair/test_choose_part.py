"""Choosing a replacement: the value however it is known, each requirement with its rule, a candidate line by line."""

import pytest
import shouldread as sr
from shouldread.circuit import Circuit
from shouldread.repair.derating import rules
from shouldread.repair.replacement import from_the_stage

TWINS = """* two feeds, the coil of one is burnt beyond reading
V1 A 0 12
L1 A B 10u
R1 B 0 6
V2 C 0 12
L2 C D 22u
R2 D 0 4
*: [parts]
*: L1 = { dcr = "30m" }
*: L2 = { dcr = "40m" }
"""


@pytest.fixture(scope="module")
def stage() -> Circuit:
    return sr.load_circuit("two_feed_enable")


def test_a_coil_saturates_above_what_it_carries() -> None:
    """12 V over 6 ohm is 2 A (Ohm); 1.3 x 2 A of saturation, winding no more than a fifth above the original's."""
    need = sr.choose_part(sr.load_circuit(TWINS), "L1")
    lines = {line.what: line for line in need.lines}
    assert lines["amps"].low == pytest.approx(1.3 * 12 / 6.03, rel=1e-3)
    assert lines["resistance"].high == pytest.approx(0.036)
    assert need.check("10 µH, 3 A sat, 30 mΩ, 5×5 mm").fits
    short = need.check("10 µH, 2 A sat, 50 mΩ")
    assert not short and [row.partition(" ")[0] for row in short.lines] == ["yes", "no", "no"]
    assert "link is for a test only" in str(need)


def test_an_unmarked_coil_by_its_twin_or_by_the_feed() -> None:
    circuit = sr.load_circuit(TWINS)
    twin = {line.what: line for line in sr.choose_part(circuit, "L1", original="unmarked", twin="L2").lines}
    assert twin["inductance"].low < 22e-6 < twin["inductance"].high
    assert twin["amps"].low == pytest.approx(1.3 * 12 / 4.04, rel=1e-3), "the harder place of the two decides"
    alone = {line.what: line for line in sr.choose_part(circuit, "L1", original="unmarked", amps="5 A").lines}
    assert "inductance" not in alone and alone["amps"].low == pytest.approx(6.5)
    assert alone["resistance"].high == pytest.approx(0.02 * 12 / 5), "2 % of 12 V at 5 A: Ohm's law"
    with pytest.raises(sr.KitError, match="no twin"):
        sr.choose_part(circuit, "L1", twin="R1")
    with pytest.raises(sr.KitError, match="no current"):
        sr.choose_part(circuit, "L1", amps="5 V")


def test_an_unmarked_resistor_by_the_stage(stage: Circuit) -> None:
    """EN of 2.3 V from 12 V over 10 k below: R6 is 42 k (divider rule, any textbook), 43 k in E24."""
    assert from_the_stage(stage, stage.part("R6")) == (43e3,)
    need = sr.choose_part(stage, "R6", original="unmarked")
    assert need.lines[0].low < 42.2e3 < need.lines[0].high and "from the stage" in str(need)
    wrong = sr.load_circuit(stage.text.replace('value = "2.3 V ± 5 %"', 'value = "14 V ± 1 %"', 1))
    assert "is something else wrong" in str(sr.choose_part(wrong, "R7", original="unmarked"))


@pytest.mark.parametrize(
    ("part", "printed", "value"),
    [("R6", "473", 47e3), ("R6", "4K7", 4.7e3), ("R6", "60C", 41.2e3), ("C1", "106", 10e-6), ("L1", "4R7", 4.7e-6)],
)
def test_markings_are_read(stage: Circuit, part: str, printed: str, value: float) -> None:
    """IEC 60062 letter and digit code; EIA-96 (both from memory): 60C is 412 x 100."""
    line = sr.choose_part(stage, part, original=printed).lines[0]
    assert (line.low + line.high) / 2 == pytest.approx(value)
    with pytest.raises(sr.KitError, match="tells no"):
        sr.choose_part(stage, part, original="blue dot")


def test_the_nearest_preferred_value_is_told(stage: Circuit) -> None:
    """E96 has 42.2 and no 43.0 but 43.2 (IEC 60063)."""
    assert "nearest of E96: 42.2 kΩ" in str(sr.choose_part(stage, "R6"))
    assert "nearest of E96: 43.2 kΩ (+0.5%)" in str(sr.choose_part(stage, "R6", original="433"))


def test_a_capacitor_needs_its_dielectric(stage: Circuit) -> None:
    need = sr.choose_part(stage, "C1")
    assert need.lines[1].low == pytest.approx(25, abs=1.01), "2 x 12 V, or the 25 V of the original"
    assert need.check("10 µF, 25 V, X7R").fits
    assert not need.check("10 µF, 25 V, Y5V").fits and "Y5V" in str(need.check("10 µF, 25 V, Y5V"))
    assert not need.check("10 µF, 25 V").fits and "dielectric: not stated" in str(need.check("10 µF, 25 V"))


def test_a_transistor_keeps_its_polarity_and_a_channel_its_threshold() -> None:
    npn = sr.choose_part(sr.load_circuit("two_feed_enable"), "Q1")
    assert npn.check("NPN, 40 V, 200 mA, 250 mW").fits and not npn.check("PNP, 40 V, 200 mA, 250 mW").fits
    assert "pin-out" in str(npn)
    circuit = sr.load_circuit("pmos_high_side_switch")
    name = next(n for n, p in circuit.netlist.items() if p.kind == "M")
    pfet = sr.choose_part(circuit, name)
    assert pfet.check("P-channel, 20 V, 3 A, 1 W, Vgs(th) 1 V").fits
    assert not pfet.check("P-channel, 20 V, 3 A, 1 W, Vgs(th) 4 V").fits
    assert not pfet.check("N-channel, 20 V, 3 A, 1 W, Vgs(th) 1 V").fits


def test_a_zener_keeps_its_volts() -> None:
    need = sr.choose_part(sr.load_circuit("zener_clamp"), "D1")
    lines = {line.what: line for line in need.lines}
    assert "volts" not in lines and lines["zener volts"].low < 5.1 < lines["zener volts"].high


def test_every_rule_has_a_source_and_every_line_says_it() -> None:
    table = rules()
    assert all(row["source"] for row in (*table["rule"], *table["words"]))
    for entry in ("two_feed_enable", "buck_feedback", "zener_clamp", "pmos_high_side_switch"):
        circuit = sr.load_circuit(entry)
        for part in circuit.parts:
            need = sr.choose_part(circuit, part)
            assert all(line.source and line.rule for line in need.lines)
            assert str(need).startswith(f"Replacement for {part}")
