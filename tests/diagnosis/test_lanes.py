"""Hypotheses side by side on one structure."""

import numpy as np
import pytest
import shouldread as sr
from shouldread.circuit import Circuit
from shouldread.diagnosis.board import Board, Context
from shouldread.diagnosis.lanes import Meters, edits_of
from shouldread.diagnosis.ways import tips_told
from shouldread.meter import meter
from shouldread.solve import OPEN, Network

UNKNOWN = '* two in series\nV1 IN 0 12\nR1 IN MID 10k\nR2 MID 0 10k\n*: [parts.R1]\n*: value = "1k..100k"\n'


def test_an_open_part_of_unknown_value_stays_open_along_its_axis() -> None:
    """Nobody can read R1, so its ohms are an axis; where it is open they matter no more, and MID reads nothing."""
    board = Board(sr.load_circuit(UNKNOWN), meter())
    number, context = board.hypotheses.index["R1 open"], Context("run")
    lanes, axes = board.lanes(number, context), len(board.variables.axes)
    assert axes > 2, "R1 has an axis"
    points = np.array([[at] * axes for at in (0.0, 0.5, 1.0)])
    slots = lanes.slots(np.full(3, number), points)
    assert (slots[:, lanes.network.net.slot_of["R1", "value"]] >= OPEN).all()
    healthy = board.lanes(0, context)
    ohms = healthy.slots(np.zeros(3, dtype=int), points)[:, healthy.network.net.slot_of["R1", "value"]]
    assert ohms[0] < ohms[1] < ohms[2] < OPEN
    assert np.abs(lanes.solve(np.full(3, number), points).volts([("MID", "0")])).max() < 1e-3


def test_one_hypothesis_reads_the_same_alone_and_in_company() -> None:
    circuit = sr.load_circuit("two_feed_enable")
    context, read = Context("run"), {}
    for company in (False, True):
        board = Board(circuit, meter())
        number = board.hypotheses.index["R1 open"]
        numbers = np.arange(len(board.hypotheses)) if company else np.array([number])
        board.prepare(numbers.tolist(), context)
        points = np.full((len(numbers), len(board.variables.axes)), 0.5)
        held = [k for k, other in enumerate(numbers) if board.lanes(other, context) is board.lanes(number, context)]
        solved = board.lanes(number, context).solve(numbers[held], points[held])
        read[company] = solved.volts([(n, "0") for n in circuit.nodes])[list(numbers[held]).index(number)]
    assert np.allclose(read[False], read[True], rtol=1e-9, atol=1e-9)


def _off(circuit: Circuit, faults: list[str]) -> dict[str, float]:
    """How far (V) faults side by side rest from networks of their own, taken through the states from power-up."""
    board, found = Board(circuit, meter(), shorts_vary=True), {}
    numbers = [board.hypotheses.index[f] for f in faults] if faults else list(range(1, len(board.hypotheses)))
    for name in circuit.states:
        context = board.context(name)
        board.prepare(range(len(board.hypotheses)), context)
        stray = board.lanes(0, context).network.edits
        for number in numbers:
            done = edits_of(circuit, board.hypotheses.all[number], cold=False)
            own, lanes = Network(circuit, (*done, *stray), state=name), board.lanes(number, context)
            here, there = own.start, lanes.rest(number)
            assert here.status == there.status, (name, board.hypotheses.all[number].name)
            off = [here.x[own.node(n)] - there.x[lanes.network.node(n)] for n in circuit.nodes]
            found[f"{board.hypotheses.all[number].name} @{name}"] = float(np.abs(off).max())
    return found


@pytest.mark.parametrize(
    ("circuit", "faults"),
    [
        ("soft_latch", []),
        ("crowbar", []),
        ("efuse_window", []),
        ("sensor_gateway", ["X4.OUT joint open", "M1 gate open", "R18 open", "VCELL low", "RJ1 drifted high"]),
    ],
)
def test_hypotheses_go_through_the_states_as_the_board_does(circuit: str, faults: list[str]) -> None:
    """What a latch, a window or a supply that holds itself remembers of the state before counts under a fault too."""
    off = _off(sr.load_circuit(circuit), faults)
    assert len(off) > 4 and max(off.values()) < 1e-4, {name: volts for name, volts in off.items() if volts >= 1e-4}


def test_a_latch_is_a_structure_that_its_faults_share() -> None:
    circuit = sr.load_circuit("soft_latch")
    board, context = Board(circuit, meter()), Context(circuit.states[0])
    board.prepare(range(len(board.hypotheses)), context)
    held = [id(board.lanes(number, context)) for number in range(1, len(board.hypotheses))]
    assert max(held.count(lanes) for lanes in held) > 0.75 * len(held)


def test_meters_at_pairs_of_their_own_read_as_each_alone() -> None:
    """Ohm and Thevenin: lanes side by side with the meter's source at other nodes, beside one that stands there alone, and
    beside small-signal ohms where nothing conducts that bends."""
    circuit = sr.load_circuit("two_feed_enable")
    board = Board(circuit, meter("handheld"))
    lanes, point = board.lanes(0, Context("cold")), np.full((1, len(board.variables.axes)), 0.5)
    nodes = [node for node in circuit.nodes if node != "0"]
    pairs = (*((node, "0") for node in nodes), *((nodes[0], node) for node in nodes[1:]), (nodes[1], nodes[2]))
    which = np.arange(len(pairs))
    owner, ohms = np.zeros(len(pairs), dtype=int), np.geomspace(1e3, 1e6, len(pairs))
    slots = lanes.slots(owner, np.repeat(point, len(pairs), axis=0))
    amps = 1e-3 / ohms
    told = tips_told(lanes, Meters(pairs, which, ohms, amps), owner, slots)
    unfed = Network(circuit, lanes.network.edits, state="cold").solve(slots=None)
    seen = unfed.resistance(pairs)[0]
    assert told.mean[:, 0] == pytest.approx(1e-3 * seen / (seen + ohms), rel=1e-3), "a millivolt bends nothing"
    for k, pair in enumerate(pairs):
        alone = tips_told(lanes, Meters.alike(pair, ohms[k], 1.2, 1), owner[:1], slots[:1])
        meters = Meters(pairs, which[k : k + 1], ohms[k : k + 1], 1.2 / ohms[k : k + 1])
        beside = tips_told(lanes, meters, owner[:1], slots[:1])
        assert alone.mean == pytest.approx(beside.mean, rel=1e-9)
        assert alone.loads == pytest.approx(beside.loads, rel=1e-6, abs=1e-12)


def test_two_structures_hold_nearly_all_hypotheses_of_a_board_with_ics() -> None:
    """Shorts and drifts are numbers of one, lifted pins of another that has no room for the shorts; one stands alone."""
    board = Board(sr.load_circuit("sequenced_rails"), meter())
    numbers = np.arange(len(board.hypotheses))
    for context in map(Context, ("run", "input_low")):
        board.prepare(numbers.tolist(), context)
        together = sorted(board.together(numbers, context), key=lambda one: -len(one[1]))
        assert len(together) <= 3 and sum(len(held) for _, held in together[:2]) >= len(numbers) - 1
        with_links, lifted = together[1]
        assert with_links.network.net.links and len(lifted) > 10
        assert not any(name.endswith(" short") for name, _ in with_links.network.net.slot_of)
