"""Why a node reads that: closed forms against the solver and against textbook formulas."""

import pytest
import shouldread as sr
from shouldread.explain import explain


def test_a_divider_is_its_textbook_formula() -> None:
    """Voltage divider rule (any textbook of circuit theory): V R2 / (R1 + R2)."""
    told = explain(sr.load_circuit("* d\nV1 IN 0 12\nR1 IN MID 3k\nR2 MID 0 1k\n"), "MID")
    assert told.exact and told.value == pytest.approx(3.0)
    assert told.formula.replace(" ", "") in ("R2*V1/(R1+R2)", "V1*R2/(R1+R2)")


def test_a_current_into_a_divider_superposes() -> None:
    """Superposition: V R2/(R1+R2) + I (R1 || R2)."""
    told = explain(sr.load_circuit("enable_divider"), "EN")
    assert told.exact
    assert told.value == pytest.approx(12 * 15.8e3 / 115.8e3 + 1.2e-6 * 100e3 * 15.8e3 / 115.8e3, rel=1e-6)
    assert told.error <= 1e-6 * told.value


def test_the_road_of_a_two_feed_enable_in_words() -> None:
    told = explain(sr.load_circuit("two_feed_enable"), "EN")
    words = " / ".join(told.words)
    assert "Q1 is saturated" in words and "Q2 is cut off" in words
    assert {key.partition(".")[0] for key, _ in told.most_sensitive[:3]} == {"R6", "R7", "VMAIN"}
    dead = " / ".join(explain(sr.load_circuit("two_feed_enable"), "EN", state="aux missing").words)
    assert "Q1 is cut off" in dead and "Q2 is saturated" in dead


@pytest.mark.parametrize("entry", [e.name for e in sr.shelf() if e.sort == "fragment"])
def test_every_node_of_every_fragment_is_explained(entry: str) -> None:
    """What claims to be exact agrees with the solver to 1e-6; what does not says its error."""
    circuit = sr.load_circuit(entry)
    for node in circuit.nodes:
        if node != "0":
            told = explain(circuit, node)
            assert str(told)
            if told.exact:
                assert told.error <= 1e-6 * max(abs(told.value), 1e-3)


def test_a_node_nothing_holds_cannot_be_explained() -> None:
    with pytest.raises(sr.KitError, match="no volts to explain"):
        explain(sr.load_circuit("* f\nV1 A 0 5\nR1 A B 1k\nC1 B C 1u\nC2 C 0 1u\n"), "C")
