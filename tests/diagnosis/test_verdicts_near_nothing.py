"""Verdicts on lines near 0 V: what a dead line picks up, and how far a saturated transistor may be from its model."""

import pytest
import shouldread as sr
from shouldread.meter import measure

STAGE = "two_feed_enable"


@pytest.mark.parametrize(
    "read, verdict", [("0.0", "as it should be"), ("0.02", "as it should be"), ("0.2", "too high")]
)
def test_a_dead_line_may_show_a_few_millivolts(read: str, verdict: str) -> None:
    """Tens of millivolts on a line that nothing feeds are common practice, no source."""
    told = sr.expect(sr.load_circuit(STAGE), state="aux missing")
    assert told["AUX_S"].healthy.typical == pytest.approx(0.0, abs=1e-3)
    assert told.verdict(f"AUX_S {read} @aux_missing") == verdict


def test_a_line_that_should_be_fed_is_not_excused() -> None:
    assert sr.expect(sr.load_circuit(STAGE)).verdict("AUX_S 0.01") == "too low"


@pytest.mark.parametrize("reverse", [1.0, 10.0])
def test_a_saturated_transistor_of_another_type_is_not_blamed(reverse: float) -> None:
    """Reverse gains of the models that makers publish for common small-signal types (from memory)."""
    circuit = sr.load_circuit(STAGE)
    model = next(line for line in circuit.text.split("\n") if line.startswith(".model") and "NPN" in line)
    other = sr.load_circuit(circuit.text.replace(model, model.replace("BR=4", f"BR={reverse}")))
    shown = measure(other, "X")
    told = sr.expect(circuit).verdict(f"X {shown.text}")
    assert abs(shown.value - measure(circuit, "X").value) > 0.002
    assert told == "cannot tell"


def test_a_transistor_that_is_not_saturated_is_blamed_all_the_same() -> None:
    assert sr.expect(sr.load_circuit(STAGE)).verdict("X 0.12") == "too high"
