"""Sensitivities over many lanes agree with differences of whole solves, for every shelf fragment."""

import numpy as np
import pytest
from shouldread.circuit import load_circuit, shelf
from shouldread.solve import Network

NAMES = [entry.name for entry in shelf()]


@pytest.mark.parametrize("name", NAMES)
def test_sensitivities_are_what_solving_again_gives(name: str) -> None:
    circuit = load_circuit(name)
    network = Network(circuit)
    places = [(node, "0") for node in circuit.nodes if node != "0"]
    told = network.solve().sensitivity(places)[0]
    held = network.solve().resistance(places)[0] < 1e6  # what floats has no slope worth comparing
    step = 1e-4
    for k, nominal in enumerate(network.nominal):
        sides = np.tile(network.nominal, (2, 1))
        sides[:, k] *= [1 + step, 1 - step]
        up, down = network.solve(sides).volts(places)
        slope = (up - down) / (2 * step)
        assert np.allclose((told[:, k] * nominal)[held], slope[held], rtol=2e-3, atol=2e-6), network.params[k].key


@pytest.mark.parametrize("name", NAMES[:6])
def test_rows_of_the_inverse_are_what_a_current_does(name: str) -> None:
    """Superposition, for small currents: volts per ampere seen at a node is its small-signal resistance."""
    circuit = load_circuit(name)
    network = Network(circuit)
    places = [(node, "0") for node in circuit.nodes if node != "0"]
    points = network.solve()
    ohms = points.resistance(places)[0]
    both_ways = points.resistance([(b, a) for a, b in places])[0]
    assert np.allclose(ohms, both_ways, rtol=1e-9)
    assert (ohms >= -1e-6).all()
