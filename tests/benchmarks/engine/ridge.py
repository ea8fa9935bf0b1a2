"""Whether a point that another engine stands at is one that a board would leave, and how far a board goes."""

import math
from collections.abc import Mapping

import numpy as np
from shouldread.circuit import Circuit, asked
from shouldread.solve.answer import reach
from shouldread.solve.steady import Rest, unstable_direction

TURNS, STEP = 400, 0.02  # V: how far an inner node moves in one turn
SHARP = 1e-9  # A


def reached(circuit: Circuit) -> Rest:
    """Where the kit comes to rest from power-up."""
    question = asked(circuit, state=None, fault=None, condition=None, meter_at=None, meter_ohms=10e6)
    return reach(question.board, question.state, question.edits)[1]


def furthest(circuit: Circuit) -> float:
    """The most volts of any node, also of those that nothing holds and of those inside a part."""
    return float(np.abs(reached(circuit).x).max())


def on_a_ridge(circuit: Circuit, volts: Mapping[str, float]) -> bool:
    """Whether the point with these node volts balances, and is left at the smallest push.

    What is inside a part (series resistance of a junction) follows by Newton's method from the kit's own point;
    floating nodes keep what the kit has.
    """
    point = reached(circuit)
    there = Rest(point.x.copy(), point.bits, point.status, point.slots, point.net)
    known = {k: volts[n] for n, k in point.net.index.items() if math.isfinite(volts.get(n, math.nan))}
    for k, v in known.items():
        there.x[k] = v
    inner = np.array([k for k in range(1, point.net.size) if k not in known], dtype=np.int64)
    for _ in range(TURNS if len(inner) else 0):
        slopes, balance = there.matrix()
        move = np.linalg.lstsq(slopes[np.ix_(inner, inner)], -balance[inner], rcond=None)[0]
        there.x[inner] += np.clip(move, -STEP, STEP)
        if np.abs(move).max() < SHARP:
            break
    held = [k for k in range(1, point.net.size) if point.net.plan.row[k] == k]
    _, balance = there.matrix()
    return bool(np.abs(balance[held]).max(initial=0.0) < 1e-6) and unstable_direction(there) is not None
