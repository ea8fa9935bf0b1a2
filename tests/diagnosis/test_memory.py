"""A circuit that remembers: what a fault reads is what it reads from power-up, not what the healthy board came to."""

import pytest
import shouldread as sr


def test_a_latch_whose_button_is_open_was_never_on() -> None:
    c = sr.load_circuit("soft_latch")
    band = sr.expect(c, state="button")["VOUT"].under("RSB open")
    assert band.high < 0.01
    assert band.typical == pytest.approx(sr.solve(c, state="button", fault="RSB open").volts["VOUT"], abs=1e-3)


def test_a_button_that_is_open_stays_a_suspect_when_the_latch_is_off_throughout() -> None:
    c = sr.load_circuit("soft_latch")
    told = sr.diagnose(c, "VOUT 0.000 @off; VOUT 0.000 @button; VOUT 0.000 @held; VIN 5.00 @button", healthy=0.0)
    assert next(s.share for s in told.suspects if s.fault == "RSB open") > 0.2
    assert "RSB open" in told.also("G 5.00 @button").groups[0].faults
