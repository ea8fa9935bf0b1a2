"""Whether a point that another engine stands at is one that a board would leave, and how far a board goes."""

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray
from shouldread.circuit import Circuit, asked
from shouldread.solve.answer import reach
from shouldread.solve.steady import SOLVED, Rest, rested, unstable_direction

Floats = NDArray[np.float64]

TURNS, STEP = 800, 0.05  # V: how far an inner node moves in one turn
SHARP = 1e-9  # V: a turn that moves nothing further ends the search
PICOAMPS = 3e-12  # A: ngspice is asked for 1e-12
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

    What is inside a part (series resistance of a junction) starts at the kit's own volts, or follows by Newton's
    method with the rest held; floating nodes keep what the kit has. Then all are set free: the balance must be there,
    not elsewhere.
    """
    point = reached(circuit)
    known = {k: volts[n] for n, k in point.net.index.items() if math.isfinite(volts.get(n, math.nan))}
    start = point.x.copy()
    for k, v in known.items():
        start[k] = v
    for x in (start, _inside(point, start, known)):
        found = rested(point.net, x, point.slots, point.bits)
        near = all(abs(found.x[k] - v) < NEAR * (1 + abs(v)) for k, v in known.items())
        if found.status == SOLVED and near and unstable_direction(found) is not None:
            return True
    return False


def _inside(point: Rest, start: Floats, known: Mapping[int, float]) -> Floats:
    """What is inside parts, brought to balance with the ``known`` nodes held."""
    there = Rest(start.copy(), point.bits, point.status, point.slots, point.net)
    inner = np.array([k for k in range(1, point.net.size) if k not in known], dtype=np.int64)
    for _ in range(TURNS if len(inner) else 0):
        slopes, balance = there.matrix()
        if not (np.isfinite(slopes).all() and np.isfinite(balance).all()):
            return start
        move = np.linalg.lstsq(slopes[np.ix_(inner, inner)], -balance[inner], rcond=None)[0]
        there.x[inner] += np.clip(move, -STEP, STEP)
        if np.abs(move).max() < SHARP:
            break
    return there.x


def moved_by_picoamps(circuit: Circuit) -> dict[str, float]:
    """How far (V) a few picoamps into every node, as it hurts most, move each node that is held."""
    point = reached(circuit)
    slopes, _ = point.matrix()
    if not np.isfinite(slopes).all():
        return {}
    try:
        follow = np.abs(np.linalg.inv(slopes)).sum(1) * PICOAMPS
    except np.linalg.LinAlgError:
        return {}
    return {name: float(follow[k]) for name, k in point.net.index.items()}
