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
    assert not short and [row.partition(" ")[0] for row in short.lines] == ["yes", "no", "no", "-"]
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


@pytest.mark.parametrize(
    ("text", "fits"),
    [
        ("10 µH, 4 A sat, 30 mΩ", True),
        ("10uH 4A sat 30mOhm", True),
        ("10 µH; Irms 5 A; Isat 4 A; DCR 30 mΩ", True),
        ("10 µH; Irms 5 A; Isat 1 A; DCR 30 mΩ", False),
        ("10 µH 5 A (rms) 1 A (sat) 30 mΩ", False),
        ("10 µH, 4 A rms, 30 mΩ", False),
        ("10 µH, 4,0 A sat, 0,03 Ω", True),
        ("100, 4 A, 30 mΩ", True),
        ("10 µH, 4 A sat, 30 mΩ, ±20 %", True),
        ("10 µH, 4 A sat, 30 mΩ, ±30 %", False),
        ("0402, 4 A, 30 mΩ", False),
    ],
)
def test_a_candidate_is_read_as_sellers_write_it(stage: Circuit, text: str, fits: bool) -> None:
    """Amps that saturate and amps that warm are two figures of a coil's sheet (Murata's tutorials; from memory).

    100 is 10 µH by IEC 60062 (in µH, from memory); 0402 is a chip size of EIA, no value.
    """
    assert sr.choose_part(stage, "L1").check(text).fits is fits


@pytest.mark.parametrize("text", ["", "blue", "9" * 5000, "\x00", "±", "%%%", "nan A", "1e999 A"])
def test_nothing_readable_is_said_so(stage: Circuit, text: str) -> None:
    with pytest.raises(sr.KitError, match="no figure") as told:
        sr.choose_part(stage, "L1").check(text)
    assert len(str(told.value)) < 300


def test_a_channel_is_read_with_its_gate_volts_and_signs() -> None:
    """A P channel's sheet writes minus signs; what the gate stands is another figure than what the channel stands."""
    pfet = sr.choose_part(sr.load_circuit("pmos_high_side_switch"), "M1")
    assert pfet.check("P-channel, Vgs 12 V, Vds -30 V, -3 A, 1 W, Vgs(th) -1 V").fits
    assert not pfet.check("P-channel, Vgs 30 V, Vds -12 V, -3 A, 1 W, Vgs(th) -1 V").fits


def test_a_flyback_diode_carries_what_its_coil_did() -> None:
    """Ohm: 12 V through the coil's 400 ohm; the diode takes over those amps when the coil is switched off, x 1.33."""
    amps = next(line for line in sr.choose_part(sr.load_circuit("relay_driver"), "D1").lines if line.what == "amps")
    assert amps.low == pytest.approx(1.33 * 12 / 400, rel=0.02)


def test_leakage_where_much_resistance_holds_the_node() -> None:
    """Ohm: 1 % of 3 V over 100 kilohm is 0.3 µA; on a stiff rail no leakage is asked about."""
    need = sr.choose_part(sr.load_circuit("rc_delayed_enable"), "C1")
    lines = {line.what: line for line in need.lines}
    assert lines["leakage"].high == pytest.approx(0.01 * 3.15 / 95e3, rel=0.05)
    assert need.check("1 µF, 16 V, X7R, leakage 100 nA").fits and not need.check("1 µF, 16 V, X7R, leakage 2 µA").fits
    assert "leakage: not stated; ask" in str(need.check("1 µF, 16 V, X7R"))
    assert all(line.what != "leakage" for line in sr.choose_part(sr.load_circuit("two_feed_enable"), "C1").lines)


def test_a_zener_and_a_chip_are_checked_for_what_is_known() -> None:
    zener = sr.choose_part(sr.load_circuit("zener_clamp"), "D1")
    assert zener.check("zener 5.1 V, 1/2 W, 100 mA").fits and not zener.check("zener 6.2 V, 1/2 W, 100 mA").fits
    chip = sr.choose_part(sr.load_circuit("buck_feedback"), "X1").check("buck converter 3 A")
    assert not chip.fits and "same suffix" in str(chip)
    shunt = sr.choose_part(sr.load_circuit("current_sense"), "RS1")
    assert shunt.check("10 mΩ, 1 W, 50 V, 1 %").fits and not shunt.check("10 mΩ, 1 W, 50 V, 5 %").fits
