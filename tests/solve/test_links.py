"""A pin lifted by the number of its link reads as the network built with the pin lifted."""

import numpy as np
import pytest
from shouldread.circuit import Circuit, is_supply, load_circuit, shelf
from shouldread.parts import Lift
from shouldread.solve import Network, Points, Shared, linked, solve

NAMES = ["sequenced_rails", "controller_card", "two_feed_enable", "npn_inverter_enable"]


def lifts_of(circuit: Circuit) -> list[Lift]:
    """Every pin of every IC, transistor and diode."""
    parts = [part for part in circuit.netlist.values() if part.block is not None or part.kind in "QMD"]
    return [Lift(part.name, pin) for part in parts for pin in part.pins if part.kind != "D" or pin == part.pins[0]]


def places(circuit: Circuit) -> list[tuple[str, str]]:
    return [(node, "0") for node in circuit.nodes if node != "0"]


def held(points: Points, pairs: list[tuple[str, str]]) -> np.ndarray:
    """The pairs that something holds, below 100 megohm."""
    return np.abs(points.resistance(pairs)[0]) < 1e8


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("state", [None, "cold"])
def test_a_link_lifts_its_pin(name: str, state: str | None) -> None:
    circuit = load_circuit(name)
    base, lifts, pairs = Network(circuit, state=state), lifts_of(circuit), places(circuit)
    shared = Shared(linked(base, lifts), [[lift] for lift in lifts])
    laid = shared.laid([[lift] for lift in lifts])
    assert sum(one is None for one in laid) == 0, "each of them is a number of the structure"
    keys = [param.key for param in base.params]
    for lift, one in zip(lifts, laid, strict=True):
        assert one is not None
        network = shared.network
        told = Points(network, one.x[None], one.bits[None], np.zeros(1, dtype=np.int64), one.slots[None])
        mine, built = network.solve(slots=one.slots[None], warm=told), Network(circuit, [lift], state=state).solve()
        some = held(built, pairs)
        assert (some == held(mine, pairs)).all(), lift
        here = [pair for pair, yes in zip(pairs, some, strict=True) if yes]
        assert mine.volts(here) == pytest.approx(built.volts(here), rel=1e-9, abs=1e-8), lift
        assert mine.resistance(here) == pytest.approx(built.resistance(here), rel=1e-6, abs=1e-6), lift
        ours = {param.key: k for k, param in enumerate(network.params)}
        theirs = {param.key: k for k, param in enumerate(built.network.params)}
        both = [key for key in keys if key in ours and key in theirs]
        slopes = [
            points.sensitivity(here)[0][:, [order[key] for key in both]]
            * np.array([base.nominal[keys.index(key)] for key in both])
            for points, order in ((mine, ours), (built, theirs))
        ]
        assert slopes[0] == pytest.approx(slopes[1], rel=1e-5, abs=1e-6), lift


@pytest.mark.parametrize("name", [entry.name for entry in shelf()])
def test_every_pin_on_the_shelf_that_can_be_lifted_is(name: str) -> None:
    circuit = load_circuit(name)
    if solve(circuit).outcome.word == "several":
        return  # such a circuit has to go through its power-up
    base, lifts, pairs = Network(circuit), lifts_of(circuit), places(circuit)
    if not lifts:
        return
    shared = Shared(linked(base, lifts), [[lift] for lift in lifts])
    for lift, one in zip(lifts, shared.laid([[lift] for lift in lifts]), strict=True):
        built = Network(circuit, [lift])
        assert one is not None
        numbers = shared.network.net.index, built.net.index
        some = held(built.solve(), pairs)
        nodes = [node for (node, _), yes in zip(pairs, some, strict=True) if yes]
        mine, theirs = ([x[index[n]] for n in nodes] for x, index in zip((one.x, built.start.x), numbers, strict=True))
        assert mine == pytest.approx(theirs, rel=1e-9, abs=1e-7), lift


@pytest.mark.parametrize("name", NAMES)
def test_closed_links_change_nothing(name: str) -> None:
    circuit = load_circuit(name)
    base, pairs = Network(circuit), places(circuit)
    tied = linked(base, lifts_of(circuit))
    assert tied.solve().volts(pairs) == pytest.approx(base.solve().volts(pairs), rel=1e-12, abs=1e-12)
    for part in circuit.netlist.values():
        if is_supply(part):
            pin = f"{part.name}.{part.pins[0]}"
            assert tied.solve().pin_amps(pin) == pytest.approx(base.solve().pin_amps(pin), rel=1e-9, abs=1e-12)


def test_a_lifted_pin_is_not_linked_again() -> None:
    circuit = load_circuit("npn_inverter_enable").with_condition("Q1.b lifted")
    assert not linked(Network(circuit), [Lift("Q1", "b")]).net.links


@pytest.mark.parametrize("name", ["crowbar", "soft_latch", "sequenced_rails"])
def test_a_board_with_links_stands_where_it_stood_without_them(name: str) -> None:
    """Also where a latch remembers what was: a fired crowbar stays fired."""
    circuit = load_circuit(name)
    for state in (*circuit.states, "cold"):
        base = Network(circuit, state=state)
        with_links, pairs = linked(base, lifts_of(circuit)), places(circuit)
        some = held(base.solve(), pairs)
        here = [pair for pair, yes in zip(pairs, some, strict=True) if yes]
        assert with_links.solve().volts(here) == pytest.approx(base.solve().volts(here), rel=1e-9, abs=1e-8), state
