"""Lanes on their way to rest as charged nodes would go: implicit steps of growing length."""

import numpy as np
from numpy.typing import NDArray

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.lane_block import block_at
from shouldread.solve.lane_factor import signs
from shouldread.solve.lane_newton import settle_block
from shouldread.solve.net import Floats, Ints, Net

Flags = NDArray[np.bool_]

STEPS = 240
MOST, PULLED = 20, 60  # steps of Newton's method; where a step in time takes more a shorter one is taken
SHORT, LONG = 1e9, 1e-12  # S: the hold of the shortest step that is tried, and of one that is as good as for ever
FAR, CLOSE = 0.5, 0.01  # V: a step that moves no node further is followed by a longer one, and by a much longer one
APART = 1e-3  # V: where every known node is nearer than this a lane stands at what is known
ANYWHERE = np.empty(0)  # nothing is known
AWAY, SMOOTH = 50.0, 0.1  # V: a node beyond it runs away, by this part of the rest a step


@kernel
def pace(b, plan, before, hold, far, calm, done):
    """Take or refuse each lane's step, and choose the length of its next.

    A step is taken only where it ends on the near side of every ridge (the determinant with the hold in it is
    positive): an implicit step of any length would else be drawn onto the ridge itself.
    """
    way = np.ones(b.x.shape[1])
    signs(b.fixed, plan, 0, plan.early, way)
    signs(b.A, plan, plan.early, plan.order.size, way)
    for i in range(b.x.shape[1]):
        if done[i] or not calm[i] or way[i] < 0.0:
            b.x[:, i] = before[:, i]
            hold[i] *= 4.0
            done[i] = done[i] or hold[i] > SHORT
            continue
        moved, over = 0.0, -np.inf
        for k in range(plan.size):
            step = abs(b.x[k, i] - before[k, i])
            moved = max(moved, step)
            over = max(over, step - SMOOTH * max(abs(b.x[k, i]) - AWAY, 0.0))
        before[:, i] = b.x[:, i]
        if hold[i] < LONG and moved < 1e-9:
            done[i] = True
        elif over < far:
            hold[i] *= 0.25 if over > CLOSE else 0.0625


@kernel
def march_block(X, S, bits, net, plan, hold, far, known, done, left):
    """Lanes at X (L, N) on, in place, until half of them are done or no steps are ``left``. Returns how many are.

    ``hold`` (L,): S, of the next step of each; ``far`` and ``known`` as for all lanes; ``done`` (L,): which are.
    """
    b = block_at(X, net, plan)
    calm, slow, before = np.zeros(done.size, np.bool_), np.zeros(done.size, np.bool_), b.x.copy()
    while left > 0 and 2 * np.count_nonzero(done) <= done.size:
        for k in range(b.x.shape[0]):
            b.hold[k] = hold
            b.ref[k] = before[k]
        settle_block(b, S, bits, net, plan, np.int64(MOST), done, calm, slow, np.int64(0))
        pace(b, plan, before, hold, far, calm, done)
        for i in range(done.size if known.size else 0):
            done[i] |= _there(b.x[:, i], known)
        left -= 1
    for i in range(X.shape[0]):
        for k in range(X.shape[1]):
            X[i, k] = b.x[k, i]
    return left


@kernel
def _there(x, known):
    """Whether a lane stands where the known nodes (nan for the others) do."""
    for k in range(known.size):
        if abs(x[k] - known[k]) > APART:
            return False
    return True


def near(x: Floats, known: Floats) -> Flags:
    """Which lanes (L, N) stand where the ``known`` nodes (nan for the others) do."""
    return np.array([_there(lane, known) for lane in x], dtype=np.bool_)


def march_lanes(x: Floats, slots: Floats, bits: Ints, net: Net, far: float = FAR, known: Floats = ANYWHERE) -> None:
    """Every lane from its own start, in place, until nothing moves any more or no step is short enough.

    ``far``: V; a step that moves a node further is not followed by a longer one. A lane that comes near what is
    ``known`` goes no further.
    """
    lanes, hold, steps = np.arange(len(x)), np.ones(len(x)), STEPS
    while len(lanes) and steps:
        some, held, done = x[lanes], hold[lanes], np.zeros(len(lanes), np.bool_)
        steps = march_block(some, slots[lanes], bits[lanes], net.arrays, net.plan, held, far, known, done, steps)
        x[lanes], hold[lanes] = some, held
        lanes = lanes[~done]


def pull_lanes(x: Floats, slots: Floats, bits: Ints, pulls: Floats, targets: Floats, net: Net) -> Flags:
    """Every lane to where it stands while its nodes are pulled (S) to targets (V), in place; all are (L, N).

    Returns which lanes settled; the others stand where the search got to.
    """
    b = block_at(x, net.arrays, net.plan)
    b.hold[: net.size], b.ref[: net.size] = pulls.T, targets.T
    calm, skip, slow = np.zeros((3, len(x)), np.bool_)
    settle_block(b, slots, bits, net.arrays, net.plan, PULLED, skip, calm, slow, 0)
    x[:] = b.x[: net.size].T
    return calm
