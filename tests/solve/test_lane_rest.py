"""Lanes that are solved together come to rest where each does by itself, however slow its company."""

import numpy as np
import pytest
import shouldread as sr
from shouldread.faults import fault_edits
from shouldread.solve import Network, Shared
from shouldread.solve.lane_rest import FAILED, SOLVED, rest


@pytest.mark.parametrize("name", ["two_feed_enable", "controller_card", "soft_latch"])
def test_company_changes_nothing(name: str) -> None:
    """Every fault that is a number, from everything at zero: some take a few steps, some a hundred, some turn bits."""
    circuit = sr.load_circuit(name)
    base, parts = Network(circuit), tuple(circuit.netlist.values())
    faults = [fault_edits(f, parts) for f in circuit.single_faults]
    shared = Shared(base, faults)
    slots = np.array([one.slots for one in shared.laid(faults) if one is not None])
    net, lanes = shared.network.net, len(slots)
    together, bits = np.zeros((lanes, net.size)), np.tile(net.first_bits, (lanes, 1))
    status = rest(together, slots, bits, net)
    assert (status == SOLVED).sum() > lanes / 2
    for lane in range(lanes):
        alone, turned = np.zeros((1, net.size)), net.first_bits[None].copy()
        assert rest(alone, slots[lane : lane + 1], turned, net)[0] == status[lane], lane
        if status[lane] == SOLVED:
            assert np.array_equal(turned[0], bits[lane]), lane
            assert np.allclose(alone[0], together[lane], rtol=1e-9, atol=1e-7), lane


def test_what_did_not_come_to_rest_is_not_tried_again() -> None:
    """A lane whose start says that it has no steady state keeps that; the others are solved."""
    network = Network(sr.load_circuit("enable_divider"))
    slots = np.tile(network.net.slots, (3, 1))
    start = network.solve(slots=slots)
    start.status[1] = FAILED
    start.raw[[0, 2]] = 0.0
    solved = network.solve(slots=slots, warm=start)
    assert solved.status.tolist() == [SOLVED, FAILED, SOLVED]
    assert np.allclose(solved.raw[0], network.start.x)
