"""What a reading says when it was a slip of the hand."""

import numpy as np
import pytest
import shouldread as sr
from shouldread.diagnosis.flat import flat_for
from shouldread.diagnosis.scale import Scale
from shouldread.meter import meter

from tests.benchmarks.diagnosis.stages import TWO_FEEDS, known

FED = "* fed\nV1 IN 0 12\nR1 IN OUT 1k\nR2 OUT 0 1k\n"


def test_slips_are_a_law_of_volts() -> None:
    """All of it is 1, and an interval holds what lies between its ends."""
    circuit = sr.load_circuit(FED)
    law = flat_for(circuit, circuit.state(None), Scale(meter(), "volts"))
    at = np.linspace(-0.5, law.top, 200_001)
    density = np.exp([law.log_slip(x, 0.0) for x in at])
    touched = np.exp(law.log_slip_share(-0.05, 0.05))
    assert np.trapezoid(np.where(np.abs(at) <= 0.05, density, 0.0), at) == pytest.approx(touched, rel=0.1)
    assert np.exp(law.log_slip_share(-0.1, law.top)) == pytest.approx(1.0, abs=0.01)
    assert law.log_slip_share(-np.inf, np.inf) == 0.0


def test_a_coarse_reading_of_nothing_says_less() -> None:
    circuit = sr.load_circuit(FED)
    law = flat_for(circuit, circuit.state(None), Scale(meter(), "volts"))
    assert law.log_slip(0.0, 0.0) > law.log_slip(0.0, 0.3**2) > law.log_slip(6.0, 0.0)
    assert law.log_slip(6.0, 0.0) == pytest.approx(law.log_density(6.0), abs=0.3)


def test_a_reading_of_nothing_that_fits_nothing_else_is_the_slip() -> None:
    """The tip touched nothing at B1; that the feed was read by mistake instead would explain the rest no better."""
    d = sr.diagnose(known(TWO_FEEDS), "A 12.02; F 0.001; B1 0.000; X 0.001; EN 0.000; K 0.000")
    assert "L1 open" in d.groups[0].faults
    assert [r.place for r in d.doubtful] == ["B1"]


@pytest.mark.parametrize(("setting", "range_"), [("volts", 0), ("ohms", 1), ("ohms", -1), ("diode", -1), ("amps", 0)])
def test_shares_below_are_those_of_intervals(setting: str, range_: int) -> None:
    """One law, as a density, as a share of an interval and as what lies below: OL lies at the end of the display."""
    circuit, own = sr.load_circuit(FED), meter()
    scale = Scale(own, setting, own.ranges(setting)[range_] if setting in ("ohms", "diode") else None)
    law = flat_for(circuit, circuit.state(None), scale)
    for shown in (0.05, 0.7, 2.0, 450.0, 3e3):
        at = scale.to_scale(shown)
        if at >= scale.over:
            continue
        below = float(law.below(np.array([law.axis(at)]))[0])
        assert below == pytest.approx(np.exp(law.log_share(-np.inf, at)), rel=1e-6, abs=2e-6)
        step = 1e-6 * abs(at)
        slope = (np.exp(law.log_share(-np.inf, at + step)) - np.exp(law.log_share(-np.inf, at - step))) / (2 * step)
        if 0 < below < 1 and setting != "amps":
            assert np.log(slope) == pytest.approx(law.log_density(at), abs=1e-3)
    over = float(law.below(np.array([np.inf]))[0])
    assert over == pytest.approx(1.0)
