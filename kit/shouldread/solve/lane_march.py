"""Lanes on their way to rest as charged nodes would go: implicit steps of growing length (numba)."""

import numpy as np

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.lane_factor import signs
from shouldread.solve.lane_newton import settle_block
from shouldread.solve.lane_stamps import new_block

STEPS = 240
SHORT, LONG = 1e9, 1e-12  # S: the hold of the shortest step that is tried, and of one that is as good as for ever
FAR = 0.5  # V: a step that moves a node further is not followed by a longer one
HELD = 1e3  # S: what forces a node


@kernel
def march(b, S, bits, net, plan, arrived):
    """Move every lane from x until nothing moves any more. ``arrived``: which did.

    A step is taken only where it ends on the near side of every ridge (the determinant with the hold in it is
    positive): an implicit step of any length would else be drawn onto the ridge itself.
    """
    lanes = b.x.shape[1]
    calm, done, way = np.zeros(lanes, np.bool_), np.zeros(lanes, np.bool_), np.ones(lanes)
    before, hold = b.x.copy(), np.ones(lanes)
    arrived[:] = False
    for _ in range(STEPS):
        for i in range(lanes):
            b.hold[:, i] = hold[i]
        b.ref[:] = before
        settle_block(b, S, bits, net, plan, done, calm)
        way[:] = 1.0
        signs(b.fixed, plan, np.int64(0), plan.early, way)
        signs(b.A, plan, plan.early, plan.order.size, way)
        for i in range(lanes):
            if done[i] or not calm[i] or way[i] < 0.0:
                b.x[:, i] = before[:, i]
                hold[i] *= 4.0
                done[i] = done[i] or hold[i] > SHORT
                continue
            moved = np.abs(b.x[: plan.size, i] - before[: plan.size, i]).max()
            before[:, i] = b.x[:, i]
            if hold[i] < LONG and moved < 1e-9:
                arrived[i], done[i] = True, True
            elif moved < FAR:
                hold[i] *= 0.25
        if done.all():
            break
    b.hold[:] = 0.0


@kernel
def march_lanes(X, S, bits, nodes, targets, net, plan, arrived):
    """Every lane from its own start, in place; first its node of ``nodes`` (0: none) is forced to its target."""
    size, lanes = X.shape[1], X.shape[0]
    b = new_block(net, plan, lanes)
    b.x[:size] = X.T
    forced = False
    for i in range(lanes):
        k = plan.col[nodes[i]]
        if k < size:
            b.hold[k, i], b.ref[k, i] = HELD, targets[i]
            forced = True
    if forced:
        calm, skip = np.zeros(lanes, np.bool_), np.zeros(lanes, np.bool_)
        settle_block(b, S, bits, net, plan, skip, calm)
        for i in range(lanes):
            if not calm[i]:
                b.x[:size, i] = X[i]
    march(b, S, bits, net, plan, arrived)
    X[:] = b.x[:size].T
