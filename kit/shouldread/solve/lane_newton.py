"""Newton's method over a block of lanes: devices at each step, everything else once a round (numba)."""

import numpy as np

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.devices import AS_IS, FROZEN, LIMITED
from shouldread.solve.lane_devices import enter_breakdowns, enter_devices
from shouldread.solve.lane_factor import backward, eliminate
from shouldread.solve.lane_stamps import enter_fixed

MOST = 60  # steps of one round; a lane that needs more is solved alone
ROUNDS = 4
SMALL, NEAR = 1e-7, 1e-9  # V: a step that ends a round, and one that ends the search


@kernel
def tie(b, S, net):
    """Nodes that an ideal source ties follow their parent exactly."""
    for i in range(b.x.shape[1]):
        b.x[0, i] = 0.0
    for k in range(net.constraints.shape[0] - 1, -1, -1):
        if net.constraints[k, 2] < 0:
            child, parent, slot = net.constraints[k, 0], net.constraints[k, 1], net.constraints[k, 4]
            sign = float(net.constraints[k, 5])
            for i in range(b.x.shape[1]):
                b.x[child, i] = b.x[parent, i] + sign * S[i, slot]


@kernel
def _load(b, plan):
    """The balance of late rows since the fixed part was entered: f = fixed + slopes x how far x moved."""
    lanes = b.x.shape[1]
    for k in range(plan.split, plan.entries + 1):
        for i in range(lanes):
            b.A[k, i] = b.fixed[k, i]
    for k in range(plan.early, plan.order.size):
        r = plan.order[k]
        for i in range(lanes):
            b.f[r, i] = b.fixed_f[r, i]
    for k in range(plan.split, plan.entries):
        r, c = plan.entry_row[k], plan.entry_col[k]
        for i in range(lanes):
            b.f[r, i] += b.fixed[k, i] * b.moved[c, i]


@kernel
def _move(b, plan, biggest, dead):
    """Take the step that stands in f; ``biggest``: the largest of a node's in each lane, relative above 1 kV."""
    lanes = b.x.shape[1]
    biggest[:] = 0.0
    for k in range(plan.early, plan.order.size):
        p = plan.order[k]
        node = p < plan.size
        for i in range(lanes):
            step = b.f[p, i]
            if not abs(step) < 1e12:
                dead[i] = True
            if dead[i]:
                continue
            b.x[p, i] -= step
            b.moved[p, i] -= step
            if node:
                biggest[i] = max(biggest[i], abs(step) / (1.0 + 1e-3 * abs(b.x[p, i])))


@kernel
def _steps(b, S, net, plan, skip, dead, first, limit):
    """Steps until every lane that counts is near; ``first``: the size of each lane's first step, inf when held back.

    ``limit``: how the first step takes the devices' laws.
    """
    lanes = b.x.shape[1]
    biggest = np.zeros(lanes)
    for turn in range(MOST):
        _load(b, plan)
        enter_devices(b, S, net, plan, limit)
        limit = np.int64(LIMITED)
        eliminate(b.A, b.f, plan, plan.early, plan.order.size)
        backward(b.A, b.f, plan, plan.early, plan.order.size)
        _move(b, plan, biggest, dead)
        tie(b, S, net)
        waiting = False
        for i in range(lanes):
            if turn == 0:
                first[i] = np.inf if b.far[i] else biggest[i]
            if not skip[i] and not dead[i] and (b.far[i] or biggest[i] > SMALL):
                waiting = True
        if not waiting:
            return


@kernel
def _follow(b, plan, dead, first):
    """Early unknowns follow what the late ones did."""
    for k in range(plan.early - 1, -1, -1):
        p = plan.order[k]
        d = plan.at[p, p]
        for i in range(b.x.shape[1]):
            total = -b.fixed_f[p, i]
            for y in range(plan.beside_start[k], plan.beside_start[k + 1]):
                c = plan.beside[y]
                total -= b.fixed[plan.at[p, c], i] * b.moved[c, i]
            step = total * b.fixed[d, i]
            if not abs(step) < 1e12:
                dead[i] = True
                step = 0.0
            b.moved[p, i] = step
            b.x[p, i] += step
            first[i] = max(first[i], abs(step) / (1.0 + 1e-3 * abs(b.x[p, i])))


@kernel
def settle_block(b, S, bits, net, plan, skip, calm):
    """From x to the resting point in all lanes but those to ``skip``; ``calm``: which got there.

    Each round starts from the balances at the point reached, so that the last one polishes to the last digits. What
    still moves a little after that is rounding: an island that hardly anything holds. The first step goes along the
    slopes at the start, where devices still see the volts that sources had: they follow their sources together.
    """
    lanes = b.x.shape[1]
    dead, first = np.zeros(lanes, np.bool_), np.zeros(lanes)
    calm[:] = False
    enter_breakdowns(b, S, net)
    enter_devices(b, S, net, plan, np.int64(AS_IS))
    tie(b, S, net)
    limit = np.int64(FROZEN)
    for turn in range(ROUNDS):
        enter_fixed(b, S, bits, net, plan, np.bool_(True))
        eliminate(b.fixed, b.fixed_f, plan, np.int64(0), plan.early)
        b.moved[:] = 0.0
        _steps(b, S, net, plan, skip, dead, first, limit)
        limit = np.int64(LIMITED)
        _follow(b, plan, dead, first)
        tie(b, S, net)
        waiting = False
        for i in range(lanes):
            calm[i] = not dead[i] and first[i] < (NEAR if turn < 2 else SMALL)
            waiting = waiting or not (calm[i] or dead[i] or skip[i])
        if not waiting:
            return
