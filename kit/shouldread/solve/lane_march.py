"""Lanes on their way to rest as charged nodes would go: implicit steps of growing length."""

import numpy as np

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.lane_factor import signs
from shouldread.solve.lane_newton import settle_block
from shouldread.solve.lane_stamps import Block, new_block
from shouldread.solve.net import Floats, Ints, Net

STEPS = 240
SHORT, LONG = 1e9, 1e-12  # S: the hold of the shortest step that is tried, and of one that is as good as for ever
FAR = 0.5  # V: a step that moves a node further is not followed by a longer one
HELD = 1e3  # S: what forces a node


@kernel
def pace(b, plan, before, hold, calm, done):
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
        moved = np.abs(b.x[: plan.size, i] - before[: plan.size, i]).max()
        before[:, i] = b.x[:, i]
        if hold[i] < LONG and moved < 1e-9:
            done[i] = True
        elif moved < FAR:
            hold[i] *= 0.25


def march(b: Block, slots: Floats, bits: Ints, net: Net) -> None:
    """Move every lane from x until nothing moves any more, or until no step is short enough."""
    lanes = b.x.shape[1]
    calm, done = np.zeros(lanes, np.bool_), np.zeros(lanes, np.bool_)
    before, hold = b.x.copy(), np.ones(lanes)
    for _ in range(STEPS):
        b.hold[:] = hold
        b.ref[:] = before
        settle_block(b, slots, bits, net.arrays, net.plan, done, calm)
        pace(b, net.plan, before, hold, calm, done)
        if done.all():
            break
    b.hold[:] = 0.0


def march_lanes(x: Floats, slots: Floats, bits: Ints, nodes: Ints, targets: Floats, net: Net) -> None:
    """Every lane from its own start, in place; first its node of ``nodes`` (0: none) is forced to its target."""
    lanes = np.arange(len(x))
    b = new_block(net.arrays, net.plan, len(x))
    b.x[: net.size] = x.T
    at = net.plan.col[nodes]
    forced = at < net.size
    if forced.any():
        b.hold[at[forced], lanes[forced]] = HELD
        b.ref[at[forced], lanes[forced]] = targets[forced]
        calm, skip = np.zeros(len(x), np.bool_), np.zeros(len(x), np.bool_)
        settle_block(b, slots, bits, net.arrays, net.plan, skip, calm)
        b.x[: net.size, ~calm] = x[~calm].T
    march(b, slots, bits, net)
    x[:] = b.x[: net.size].T
