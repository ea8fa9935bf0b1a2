"""Sensitivities over many lanes agree with differences of whole solves, for every shelf fragment."""

import numpy as np
import pytest
from shouldread.circuit import load_circuit, shelf
from shouldread.solve import Moved, Network

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


@pytest.mark.parametrize("name", NAMES)
def test_what_moves_together_adds_up(name: str) -> None:
    """Numbers moved by so much each, in columns of three, do what their slopes say one by one."""
    network = Network(load_circuit(name))
    points, places = network.solve(), [(node, "0") for node in network.nodes if node != "0"]
    count, inverse = len(network.params), points.inverse(places)
    by, column = np.random.default_rng(4).normal(size=(1, count)), np.arange(count) // 3
    told = points.moved(inverse, np.arange(count), Moved(by, column, count // 3 + 1))
    alone = points.sensitivity(places, inverse) * by[:, None]
    expected = np.stack([alone[:, :, column == k].sum(2) for k in range(count // 3 + 1)], axis=2)
    assert np.allclose(told, expected, rtol=1e-9, atol=1e-12 * np.abs(alone).max(initial=1e-12))
