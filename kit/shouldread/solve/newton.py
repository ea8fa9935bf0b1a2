"""One lane by pivoting: for what a block cannot settle.

The same balances as in a block are entered along a plan in which every entry has its place.
"""

import numpy as np

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.devices import AS_IS, LIMITED
from shouldread.solve.lane_block import Block, Floats, new_block
from shouldread.solve.lane_devices import enter_devices
from shouldread.solve.lane_laws import enter_numbers
from shouldread.solve.lane_stamps import enter_fixed
from shouldread.solve.plan import Arrays, Ints, Plan, places

MOST = 150  # iterations of one attempt
NEAR = 1e-9  # V: a step below it ends the search; one more step polishes
ROUNDING = 1e-15  # of the currents that meet in a balance
TURNS = 80  # of the shunt


@kernel
def full_plan(size, net, merged):
    """A plan in which every entry has its place, row by row; pivots are chosen on the way."""
    total = size + net.rows.shape[0]
    row, col = np.empty(total + 1, np.int64), np.empty(total + 1, np.int64)
    places(size, net.constraints, net.rows, merged, row, col)
    at = np.full((total + 1, total + 1), total * total, np.int32)
    for i in range(total):
        for j in range(total):
            at[i, j] = i * total + j
    none = np.zeros(0, np.int64)
    return Plan(size, row, col, none, 0, at, 0, total * total, none, none, none, none, none, none)


@kernel
def assemble(b, S, bits, net, plan, merged, limit):
    """Slopes (n, n) and balances (n,) at x; what nothing holds at all stands on its own (and is found to float)."""
    total = plan.row.size - 1
    enter_fixed(b, S, bits, net, plan, merged)
    b.A[:] = b.fixed
    b.f[:] = b.fixed_f
    enter_devices(b, S, net, plan, limit)
    A = b.A[: total * total].copy().reshape(total, total)
    f = b.f[:total, 0].copy()
    A[0, 0] = 1.0
    f[0] = 0.0
    for k in range(1, total):
        if A[k, k] == 0.0 and not A[k].any():
            A[k, k] = 1e-18
    return A, f


def newton(b: Block, slots: Floats, bits: Ints, net: Arrays, plan: Plan, most: int) -> bool:
    """Solve from x in place. Returns whether it got there.

    Where little holds an island no step gets any smaller than what rounding of its balances makes of it: there the
    search ends when no balance is more than rounding.
    """
    assemble(b, slots, bits, net, plan, False, AS_IS)
    calm = 0
    for _ in range(most):
        matrix, balance = assemble(b, slots, bits, net, plan, False, LIMITED)
        x, far = b.x[:-1, 0], bool(b.far[0])
        balanced = bool((np.abs(balance) <= ROUNDING * (np.abs(matrix) @ np.abs(x))).all())
        try:
            step = np.linalg.solve(matrix, balance)
        except np.linalg.LinAlgError:
            return False
        if not (np.abs(step) < 1e12).all():
            return False
        x[1:] -= step[1:]
        biggest = np.max(np.abs(step[: plan.size]) / (1.0 + 1e-3 * np.abs(x[: plan.size])))
        calm = calm + 1 if not far and (balanced or biggest < NEAR) else 0
        if calm == 2:
            return True
    return False


def settle(x: Floats, slots: Floats, bits: Ints, net: Arrays) -> bool:
    """From x by itself; else by a shunt to where it stood, taken away step by step. Returns whether it got there."""
    size, plan = len(x), full_plan(len(x), net, False)
    b = new_block(net, plan, 1)
    enter_numbers(b, slots, net)
    b.x[:size, 0] = x
    if newton(b, slots, bits, net, plan, MOST):
        x[:] = b.x[:size, 0]
        return True
    b.x[:] = 0.0
    b.x[:size, 0] = x
    b.ref[:] = b.x
    good = b.x.copy()
    reached, shrink = 10.0, 0.1  # S: the shunt that it last settled with, and what the next one is of it
    for _ in range(TURNS):
        if reached <= 1e-13:
            break
        b.hold[:] = reached * shrink
        if newton(b, slots, bits, net, plan, 60):
            good[:] = b.x
            reached *= shrink
            shrink = max(0.01, shrink * shrink)
        else:
            b.x[:] = good
            shrink = shrink**0.3
            if shrink > 0.9:
                return False
    b.hold[:] = 0.0
    arrived = newton(b, slots, bits, net, plan, MOST)
    x[:] = b.x[:size, 0]
    return arrived
