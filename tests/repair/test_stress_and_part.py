"""What parts bear, and what a replacement must be."""

import pytest
import shouldread as sr


def test_power_in_a_divider_is_joules_law() -> None:
    """Joule: P = V^2 / R (any textbook): 12 V over 3k + 1k gives 27 mW and 9 mW."""
    c = sr.load_circuit('* d\nV1 IN 0 12\nR1 IN MID 3k\nR2 MID 0 1k\n*: [parts]\n*: R1 = { watts = "0.1" }\n')
    told = sr.stress(c)
    assert told["R1"].watts == pytest.approx(0.027) and told["R2"].watts == pytest.approx(0.009)
    assert told["R1"].watts_worst == pytest.approx(144 / 3010.01, rel=0.01) or told["R1"].watts_worst >= 0.047
    assert told["R2"].verdict == "rating not stated"
    assert set(told.frame().columns) >= {"part", "volts", "amps", "watts", "watts_worst", "under", "rating", "verdict"}


def test_a_part_that_dies_is_said() -> None:
    c = sr.load_circuit('* d\nV1 IN 0 12\nR1 IN MID 1k\nR2 MID 0 10\n*: [parts]\n*: R2 = { watts = "0.1" }\n')
    assert "part dies here" in sr.stress(c)["R2"].verdict


def test_a_shunt_with_5_5_amps() -> None:
    """Ohm and Joule: 5.5 A through 10 mohm is 55 mV and 0.3 W."""
    load = sr.stress(sr.load_circuit("* s\nV1 A 0 12\nRS1 A B 10m\nI1 B 0 5.5\n"))["RS1"]
    assert load.volts == pytest.approx(0.055) and load.watts == pytest.approx(0.3025)


def test_a_coil_for_a_feed() -> None:
    need = sr.choose_part(sr.load_circuit("input_filter"), "L1")
    assert need.check("4.7 µH, 4 A sat, 30 mΩ").fits
    assert not need.check("4.7 µH, 1 A sat, 30 mΩ").fits
    assert not need.check("4.7 µH").fits and "not stated" in str(need.check("4.7 µH"))
    with pytest.raises(sr.KitError):
        need.check("a blue one")


def test_a_capacitor_stands_twice_its_rail() -> None:
    need = sr.choose_part(sr.load_circuit("input_filter"), "C2")
    assert need.check("47 µF, 25 V, X5R").fits and not need.check("47 µF, 16 V, X5R").fits


SWITCH = """* a transistor that switches 12 V through R3, off
V1 IN 0 12
V2 B 0 0
R2 B BB 10k
Q2 C BB 0 QN
R3 IN C 100
.model QN NPN(IS=7e-15 BF=180)
*: [parts]
*: V1 = { tolerance = "0.001 %" }
*: R3 = { watts = "0.18", tolerance = "0.001 %" }
"""


def test_secondary_damage_is_named() -> None:
    """Joule: 12 V across 100 ohm turn 1.44 W to heat, 8 x what R3 is rated for, once Q2 is a short."""
    told = sr.stress(sr.load_circuit(SWITCH))
    row = next(row for row in told.damage if row.fault == "Q2 collector-emitter short")
    assert row.part == "R3" and row.what == "watts" and row.times == pytest.approx(8.0, rel=1e-3)
    assert "with Q2 collector-emitter short R3 carries 8 x its rated watts" in str(told)
    assert not any(row.part == row.fault.split()[0] for row in told.damage), (
        "a part's own fault is no secondary damage"
    )
    assert sr.stress(sr.load_circuit(SWITCH), faults=()).damage == ()


def test_ratings_that_nobody_stated_are_asked_for() -> None:
    told = sr.stress(sr.load_circuit(SWITCH))
    assert told["Q2"].rating == "unknown"
    asked = {row.partition(":")[0]: row for row in told.asked}
    assert 'R2 = { watts = "?"' in asked["R2"] and "amps (bears" in asked["Q2"]
    assert "watts (" not in asked["R3"], "that one is stated"
    assert "V1" not in asked, "a feed is no part of this board"
    typed = SWITCH.replace('watts = "0.18"', 'watts = "?"')
    assert sr.stress(sr.load_circuit(typed), faults=())["R3"].rating == "unknown", "? is no rating"


def test_the_worst_corner_of_all_tolerances() -> None:
    """Joule on a divider: V² R1 / (R1 + R2)² is most with both at their lower limit and V at its upper one."""
    text = """* d
V1 IN 0 12
R1 IN MID 3k
R2 MID 0 1k
*: [parts]
*: V1 = { tolerance = "2 %" }
*: R1 = { tolerance = "5 %" }
*: R2 = { tolerance = "5 %" }
"""
    circuit = sr.load_circuit(text)
    worst, nominal = sr.stress(circuit, faults=())["R1"], sr.stress(circuit, faults=(), tolerances=False)["R1"]
    assert nominal.watts_worst == pytest.approx(0.027)
    assert worst.watts_worst == pytest.approx((12 * 1.02) ** 2 * 2850 / 3800**2, rel=1e-6)
    assert worst.volts_worst == pytest.approx(12 * 1.02 * 3150 / (3150 + 950), rel=1e-6)
    assert worst.amps_worst == pytest.approx(12 * 1.02 / 3800, rel=1e-6)


def test_each_figure_is_told_under_the_fault_that_is_worst_for_it() -> None:
    """C1 bears no watts at all; its volts are worst where R1 lets all of 12 V through."""
    text = '* v\nV1 IN 0 12\nR1 IN A 1k\nR2 A 0 1k\nC1 A 0 1u\n*: [parts]\n*: C1 = { volts = "10" }\n'
    load = sr.stress(sr.load_circuit(text), tolerances=False)["C1"]
    assert load.verdict.startswith("carries 1.2 x its volts under ") and load.verdict.split("under ")[1][:2] in (
        "R1",
        "R2",
    )
