"""Faults that are numbers of one structure rest where they do on a network of their own."""

import numpy as np
import pytest
from shouldread.circuit import load_circuit, shelf, standing
from shouldread.faults import fault_edits
from shouldread.parts import Remove
from shouldread.solve import OPEN, Network, Shared, patched, solve

NAMES = [entry.name for entry in shelf()]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("state", [None, "cold"])
def test_laid_faults_rest_where_patched_ones_do(name: str, state: str | None) -> None:
    circuit = load_circuit(name)
    if state is None and solve(circuit).outcome.word == "several":
        return  # such a circuit has to go through its power-up
    base, parts = Network(circuit, state=state), tuple(circuit.netlist.values())
    faults = [standing(circuit, fault_edits(f, parts), cold=state == "cold") for f in circuit.single_faults]
    shared = Shared(base, faults)
    laid = shared.laid(faults)
    assert any(laid) or not faults
    for fault, edits, one in zip(circuit.single_faults, faults, laid, strict=True):
        alone = patched(base, edits)
        if one is None:
            continue
        assert alone is not None, fault
        assert np.array_equal(one.bits, alone.start.bits), fault
        assert np.allclose(one.x, alone.start.x[: base.net.size], rtol=1e-9, atol=1e-8), fault


def test_readings_and_resistances_are_those_of_a_network_built_with_the_fault() -> None:
    circuit = load_circuit("two_feed_enable")
    base, parts = Network(circuit), tuple(circuit.netlist.values())
    faults = [fault_edits(f, parts) for f in circuit.single_faults]
    shared = Shared(base, faults)
    places = [(node, "0") for node in circuit.nodes if node != "0"]
    checked = 0
    for edits, one in zip(faults, shared.laid(faults), strict=True):
        if one is None:
            continue
        beside, built = shared.network.solve(slots=one.slots[None]), Network(circuit, edits).solve()
        held = built.resistance(places)[0] < 1e8
        for of in ("volts", "resistance"):
            first, second = getattr(beside, of)(places)[0], getattr(built, of)(places)[0]
            assert np.allclose(first[held], second[held], rtol=1e-6, atol=1e-6), edits
        checked += 1
    assert checked > 40


def test_an_open_resistor_leaves_an_island_held_where_a_built_network_holds_it() -> None:
    """R2 alone ties MID; without it nothing does, and the node stands where 1 T ohm to ground leaves it."""
    circuit = load_circuit(
        "* island\nV1 IN 0 5\nR1 IN OUT 1k\nR3 OUT 0 1k\nR2 OUT MID 1k\nD1 MID FAR DX\n.model DX D\n"
    )
    base, parts = Network(circuit), tuple(circuit.netlist.values())
    edits = next(fault_edits(f, parts) for f in circuit.single_faults if str(f) == "R2 open")
    shared = Shared(base, [edits])
    (one,) = shared.laid([edits])
    assert one is not None
    assert one.slots[base.net.slot_of["R2", "value"]] == OPEN
    assert abs(one.x[base.node("MID")]) < 1e-6


def test_a_switch_that_is_gone_is_a_matter_of_numbers() -> None:
    """What it alone tied is held; nothing flows through it, on or off."""
    circuit = load_circuit("* switched\nV1 IN 0 5\nS1 IN OUT IN 0 SX\nR1 OUT FAR 1k\n.model SX SW(VT=1 RON=1)\n")
    base = Network(circuit)
    shared = Shared(base, [[Remove("S1")]])
    (one,) = shared.laid([[Remove("S1")]])
    assert base.start.x[base.node("FAR")] == pytest.approx(5.0)
    assert one is not None and abs(one.x[base.node("FAR")]) < 1e-6
    quick, built = patched(base, [Remove("S1")]), Network(circuit, [Remove("S1")])
    assert quick is not None
    assert quick.solve().volts([("OUT", "0")]) == pytest.approx(built.solve().volts([("OUT", "0")]), abs=1e-6)


def test_a_fault_that_needs_a_network_of_its_own_is_left_out() -> None:
    circuit = load_circuit("thermostat")
    base, parts = Network(circuit), tuple(circuit.netlist.values())
    by_name = {str(f): fault_edits(f, parts) for f in circuit.single_faults}
    lifted = next(edits for name, edits in by_name.items() if name.startswith("X1") and "joint open" in name)
    shorted = next(edits for name, edits in by_name.items() if name.startswith("R") and name.endswith("short"))
    none, one = Shared(base, [lifted, shorted]).laid([lifted, shorted])
    assert none is None
    assert one is not None
    (unknown,) = Shared(base, [lifted]).laid([shorted])
    assert unknown is None, "no room was made for this bridge"
