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
