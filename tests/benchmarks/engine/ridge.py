"""Whether a point that another engine stands at is one that a board would leave, and how far a board goes."""

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray
from shouldread.circuit import Circuit, asked
from shouldread.solve.answer import reach
from shouldread.solve.lane_march import pull_lanes
from shouldread.solve.lane_rest import contradicted
from shouldread.solve.steady import FLOATS, SOLVED, Rest, resistances, rested, unstable_direction

Floats = NDArray[np.float64]

SEARCHES = 3  # one after the other: what is driven to a kilovolt takes more than one
HELD = 1e3  # S: what holds a node to the volts it is said to have
PICOAMPS = 3e-12  # A: ngspice is asked for 1e-12
ROUNDING = float(np.finfo(float).eps)  # of a current
TIED = 1e-6  # V: what two answers may differ by
DECIDED = 0.01  # V: what picoamps move further is decided by them
NEAR = 1e-5  # by how much, relative and in V, the balance found from there may lie elsewhere


def reached(circuit: Circuit) -> Rest:
    """Where the kit comes to rest from power-up."""
    question = asked(circuit, state=None, fault=None, condition=None, meter_at=None, meter_ohms=10e6)
    return reach(question.board, question.state, question.edits)[1]


def furthest(circuit: Circuit) -> float:
    """The most volts of any node, also of those that nothing holds and of those inside a part."""
    return float(np.abs(reached(circuit).x).max())


def on_a_ridge(circuit: Circuit, volts: Mapping[str, float]) -> bool:
    """Whether a balance with these node volts exists, and is left at the smallest push.

    Switches stand as these volts have them. What is inside a part (series resistance of a junction) and floating
    nodes start at the kit's own volts, or follow with the rest held. Then all are set free: the balance must be
    there, not elsewhere.
    """
    point, start, known = _placed(circuit, volts)
    for x in (start, *_followed(point, start, known)):
        found = rested(point.net, x, point.slots, point.bits)
        away = np.abs(found.x[known] - start[known])
        near = bool((away < NEAR * (1 + np.abs(start[known])) + _unsure(found)[known]).all())
        if found.status == SOLVED and near and unstable_direction(found) is not None:
            return True
    return False


def hangs_on_picoamps(circuit: Circuit, volts: Mapping[str, float]) -> bool:
    """Whether a few picoamps decide where a node stands that is held, at the balance with these node volts."""
    point, start, known = _placed(circuit, volts)
    for x in _followed(point, start, known):
        there = Rest(x, point.bits, point.status, point.slots, point.net)
        if (_unsure(there)[resistances(there) < FLOATS] > DECIDED).any():
            return True
    return False


def _placed(circuit: Circuit, volts: Mapping[str, float]) -> tuple[Rest, Floats, list[int]]:
    """The kit's point with switches as these volts have them, the volts put into it, and the nodes that have some."""
    point = reached(circuit)
    known = {k: volts[n] for n, k in point.net.index.items() if math.isfinite(volts.get(n, math.nan))}
    start, at = point.x.copy(), list(known)
    start[at] = list(known.values())
    wrong = contradicted(start[None], point.slots[None], point.bits[None], point.net)[0] > 0
    bits = np.where(wrong, 1 - point.bits, point.bits)
    return Rest(point.x, bits, point.status, point.slots, point.net), start, at


def _followed(point: Rest, start: Floats, held: list[int]) -> Floats:
    """Where everything else stands with some nodes held to the start, found from there and from the kit's answer."""
    x = np.stack([start, point.x])
    pulls, lanes = np.zeros_like(x), len(x)
    pulls[:, held] = HELD
    numbers, turned = np.tile(point.slots, (lanes, 1)), np.tile(point.bits, (lanes, 1))
    for _ in range(SEARCHES):
        calm = pull_lanes(x, numbers, turned, pulls, np.tile(start, (lanes, 1)), point.net)
    return x[calm]


def breaks_a_tie(circuit: Circuit, volts: Mapping[str, float]) -> bool:
    """Whether an ideal inductor (0 V) or source has other volts across it than its own, by more than 1 µV."""
    point, x, known = _placed(circuit, volts)
    for child, parent, plus, _, slot, sign in point.net.constraints.tolist():
        seen = {child, parent} <= {0, *known}
        if plus < 0 and seen and abs(x[child] - x[parent] - sign * point.slots[slot]) > TIED:
            return True
    return False


def moved_by_picoamps(circuit: Circuit) -> dict[str, float]:
    """How far (V) what ngspice cannot tell from nothing moves each node."""
    point = reached(circuit)
    loose = _unsure(point)
    return {name: float(loose[k]) for name, k in point.net.index.items()}


def _unsure(point: Rest) -> Floats:
    """How far (V) a few picoamps at every node, and rounding of the currents that meet there, move each node.

    Added up as it hurts most; 0 where the slopes cannot be turned round.
    """
    slopes, _ = point.matrix()
    none = np.zeros(len(point.x))
    if not np.isfinite(slopes).all():
        return none
    unseen = PICOAMPS + ROUNDING * (np.abs(slopes[:, : len(none)]) @ np.abs(point.x))
    try:
        return (np.abs(np.linalg.inv(slopes)) @ unseen)[: len(none)]
    except np.linalg.LinAlgError:
        return none
