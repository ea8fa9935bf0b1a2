"""A fault laid on a network reads as the network built with the fault in it."""

import numpy as np
import pytest
from shouldread.circuit import load_circuit, shelf
from shouldread.faults import fault_edits
from shouldread.solve import Network, loaded, patched, solve
from shouldread.solve.patch import loose_nodes, sole_ties

NAMES = [entry.name for entry in shelf()]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("state", [None, "cold"])
def test_patched_faults_read_as_built_ones(name: str, state: str | None) -> None:
    circuit = load_circuit(name)
    if state is None and solve(circuit).outcome.word == "several":
        return  # such a circuit has to go through its power-up
    base = Network(circuit, state=state)
    places = [(node, "0") for node in circuit.nodes if node != "0"]
    laid = 0
    for fault in circuit.single_faults:
        if state == "cold" and any("." in part for part in fault.parts):
            continue
        edits = fault_edits(fault, circuit.netlist.values())
        quick = patched(base, edits) if state is None or not _inside(circuit, fault) else None
        if quick is None:
            continue
        laid += 1
        built = Network(circuit, edits, state=state)
        one, two = quick.solve(), built.solve()
        held = two.resistance(places)[0] < 1e8
        assert one.status[0] == two.status[0], fault
        if one.status[0] == 0:
            assert np.allclose(one.volts(places)[0][held], two.volts(places)[0][held], rtol=1e-9, atol=1e-8), fault
            assert np.allclose(
                one.resistance(places)[0][held], two.resistance(places)[0][held], rtol=1e-6, atol=1e-6
            ), fault
    assert laid or not circuit.single_faults


def _inside(circuit, fault) -> bool:  # type: ignore[no-untyped-def]
    return circuit.part(fault.parts[0]).block is not None


def test_a_meter_divides_what_it_reads() -> None:
    """Ohm: 12 V behind 1 M and 1 M is 6 V, and 5.714 V through 10 M."""
    circuit = load_circuit("* divider\nV1 IN 0 12\nR1 IN MID 1Meg\nR2 MID 0 1Meg\n")
    network = loaded(Network(circuit), [("MID", "0")])
    slots = np.array([[*network.net.slots[:-3], 0, 1 / 10e6, 0.0]])
    assert network.solve(slots=slots).volts([("MID", "0")])[0, 0] == pytest.approx(12 * 10 / 21, rel=1e-9)


def test_an_ohmmeter_drives_a_dead_board() -> None:
    """Voltage divider: 0.45 V behind 45 k into 45 k stands at half."""
    circuit = load_circuit("* load\nV1 IN 0 12\nR1 IN MID 10k\nR2 MID 0 45k\n")
    network = loaded(Network(circuit, state="cold"), [("MID", "0")])
    slots = np.array([[*network.net.slots[:-3], 0, 1 / 45e3, 0.45 / 45e3]])
    assert network.solve(slots=slots).volts([("MID", "0")])[0, 0] == pytest.approx(0.225, rel=1e-6)


@pytest.mark.parametrize("name", ["two_feed_enable", "sequenced_rails", "controller_card"])
def test_what_alone_ties_something_is_what_leaves_an_island(name: str) -> None:
    """Foster's law beside lifting each in turn and looking for islands."""
    circuit = load_circuit(name)
    for state in (*circuit.states, "cold"):
        net = Network(circuit, state=state).net
        left = [
            len(loose_nodes(net, np.delete(net.resistors, row, axis=0)[:, :2])) for row in range(len(net.resistors))
        ]
        assert sole_ties(net)["resistors"] == {row for row, many in enumerate(left) if many > 0}
        for name, without in (("switches", "removed"), ("constraints", "opened")):
            alone = [
                len(loose_nodes(net, net.resistors[:, :2], **{without: [row]}))
                for row in range(len(getattr(net, name)))
            ]
            assert sole_ties(net)[name] == {row for row, many in enumerate(alone) if many > 0}, name
