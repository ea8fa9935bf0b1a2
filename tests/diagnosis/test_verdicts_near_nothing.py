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


def test_all_of_one_type_off_together_accuse_nothing() -> None:
    """Four stages whose NPN saturate at half of what the circuit's model says, as another type does: one doubt, not four."""
    lines = ["* four switches of one type", "V1 S 0 12"]
    for k in range(1, 5):
        lines += [f"R{k}1 S B{k} 47k", f"R{k}2 B{k} 0 10k", f"Q{k} C{k} B{k} 0 QN", f"R{k}3 S C{k} 4.7k"]
    known = sr.load_circuit("\n".join([*lines, ".model QN NPN(IS=7e-15 BF=180 VAF=80)", ""]))
    real = sr.load_circuit("\n".join([*lines, ".model QN NPN(IS=7e-15 BF=180 VAF=80 BR=7)", ""]))
    volts = sr.solve(real).volts
    assert volts["C1"] < 0.6 * sr.solve(known).volts["C1"]
    read = "; ".join(f"{place}{k} {volts[f'{place}{k}']:.3f}" for k in range(1, 5) for place in "BC")
    told = sr.diagnose(known, f"S 12.0; {read}")
    assert told.healthy > 0.5 and not told.doubtful
