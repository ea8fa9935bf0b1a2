"""Newton's method over a block of lanes: devices at each step, everything else once a round (numba)."""

import numpy as np

from shouldread.parts.laws.kernel import inlined, kernel
from shouldread.solve.devices import AS_IS, FROZEN, LIMITED
from shouldread.solve.lane_devices import enter_devices
from shouldread.solve.lane_factor import backward, eliminate, forward
from shouldread.solve.lane_laws import enter_numbers, take_volts
from shouldread.solve.lane_stamps import enter_balances, enter_slopes

WHILE = 8  # steps, after which few are not waited for
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


@inlined
def _load(b, plan, step):
    """The balance of late rows since the fixed part was entered: f = fixed + slopes x how far x moved."""
    lanes = b.x.shape[1]
    A, f, fixed, fixed_f, moved = b.A, b.f, b.fixed, b.fixed_f, b.moved
    for k in range(plan.split, plan.entries):
        for i in range(lanes):
            A[k, i] = fixed[k, i]
    for k in range(plan.early, plan.order.size):
        r = plan.order[k]
        for i in range(lanes):
            f[r, i] = fixed_f[r, i]
    if step == 0:  # nothing has moved
        return
    for k in range(plan.split, plan.entries):
        r, c = plan.entry_row[k], plan.entry_col[k]
        for i in range(lanes):
            f[r, i] += fixed[k, i] * moved[c, i]


@kernel
def _relative(x, r, step, k, most):
    """Raise ``most`` to row k of steps where it is larger: volts, or relative to more than 1 kV in row r of ``x``."""
    for i in range(x.shape[1]):
        size = abs(step[k, i]) / (1.0 + 1e-3 * abs(x[r, i]))
        most[i] = size if size > most[i] else most[i]


@kernel
def _wild(step, k):
    """How many steps of row k are too long, or no numbers."""
    many = 0
    for i in range(step.shape[1]):
        many += 0 if abs(step[k, i]) < 1e12 else 1
    return many


@kernel
def _drop(step, k, dead):
    """Wild steps of row k are not taken, and end their lane."""
    for i in range(step.shape[1]):
        if not abs(step[k, i]) < 1e12:
            dead[i] = True
            step[k, i] = 0.0


@inlined
def _move(b, plan, biggest, dead):
    """Take the step that stands in f; ``biggest``: the largest of a node's in each lane, relative above 1 kV."""
    x, f, moved = b.x, b.f, b.moved
    biggest[:] = 0.0
    for k in range(plan.early, plan.order.size):
        p = plan.order[k]
        if _wild(f, p) > 0:
            _drop(f, p, dead)
        for i in range(x.shape[1]):
            x[p, i] -= f[p, i]
        for i in range(x.shape[1]):
            moved[p, i] -= f[p, i]
        if p < plan.size:
            _relative(x, p, f, p, biggest)


@inlined
def _waiting(far, biggest, skip, slow, dead):
    """How many lanes that count are not near yet."""
    many = 0
    for i in range(far.size):
        if not skip[i] and not slow[i] and not dead[i] and (far[i] or biggest[i] > SMALL):
            many += 1
    return many


@inlined
def _let_go(far, biggest, skip, dead, gone):
    """The lanes that are not near yet are waited for no longer: these are ``gone``."""
    for i in range(far.size):
        if not skip[i] and not dead[i] and (far[i] or biggest[i] > SMALL):
            gone[i] = True


@inlined
def _follow(b, plan, dead, first):
    """Early unknowns follow what the late ones did."""
    x, fixed, fixed_f, moved = b.x, b.fixed, b.fixed_f, b.moved
    for k in range(plan.early - 1, -1, -1):
        p = plan.order[k]
        d = plan.at[p, p]
        for i in range(x.shape[1]):
            moved[p, i] = -fixed_f[p, i]
        for y in range(plan.beside_start[k], plan.beside_start[k + 1]):
            c = plan.beside[y]
            u = plan.at[p, c]
            for i in range(x.shape[1]):
                moved[p, i] -= fixed[u, i] * moved[c, i]
        for i in range(x.shape[1]):
            moved[p, i] *= fixed[d, i]
        if _wild(moved, p) > 0:
            _drop(moved, p, dead)
        for i in range(x.shape[1]):
            x[p, i] += moved[p, i]
        _relative(x, p, moved, p, first)


@kernel
def settle_block(b, S, bits, net, plan, most, skip, calm, slow, few):
    """From x to the resting point in all lanes but those to ``skip``; ``calm``: which got there.

    ``most``: steps of a round; a lane that needs more in the first begins a second, one that does there too is lost:
    it goes round for ever (of 6 000 searches one came to an end after that). Where after a while no more than so
    ``few`` are still on their way the others do not wait for them: those are ``slow``, and neither there nor lost.

    Each round starts from the balances at the point reached, so that the last one polishes to the last digits. What
    still moves a little after that is rounding: an island that hardly anything holds. The first step goes along the
    slopes at the start, where devices still see the volts that sources had: they follow their sources together.
    """
    lanes = b.x.shape[1]
    dead, first, biggest = np.zeros(lanes, np.bool_), np.zeros(lanes), np.zeros(lanes)
    early, count = plan.early, plan.order.size
    calm[:] = slow[:] = False
    enter_numbers(b, S, net)
    take_volts(b, net, np.int64(AS_IS))
    tie(b, S, net)
    enter_slopes(b, S, bits, net, plan, np.bool_(True))
    for turn in range(ROUNDS):
        enter_balances(b, S, net, plan, np.bool_(True))
        if turn == 0:
            eliminate(b.fixed, b.fixed_f, plan, np.int64(0), early)
        else:
            forward(b.fixed, b.fixed_f, plan, np.int64(0), early)
        b.moved[:] = 0.0
        for step in range(most):
            _load(b, plan, step)
            enter_devices(b, S, net, plan, np.int64(FROZEN if turn == 0 and step == 0 else LIMITED))
            eliminate(b.A, b.f, plan, early, count)
            backward(b.A, b.f, plan, early, count)
            _move(b, plan, biggest, dead)
            tie(b, S, net)
            for i in range(lanes if step == 0 else 0):
                first[i] = np.inf if b.far[i] else biggest[i]
            many = _waiting(b.far, biggest, skip, slow, dead)
            if many <= few and step >= WHILE:
                _let_go(b.far, biggest, skip, dead, slow)
                many = 0
            if many == 0:
                break
        if many > 0 and turn > 0:
            _let_go(b.far, biggest, skip, dead, dead)
        _follow(b, plan, dead, first)
        tie(b, S, net)
        waiting = False
        for i in range(lanes):
            calm[i] = not dead[i] and not slow[i] and first[i] < (NEAR if turn < 2 else SMALL)
            waiting = waiting or not (calm[i] or dead[i] or skip[i] or slow[i])
        if not waiting:
            return
