"""Hypotheses side by side on one structure."""

import numpy as np
import shouldread as sr
from shouldread.diagnosis.board import Board, Context
from shouldread.meter import meter
from shouldread.solve import OPEN

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
