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
