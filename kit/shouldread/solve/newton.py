"""One lane by full pivoting: for what a block cannot settle (numba).

The same balances as in a block are entered along a plan in which every entry has its place.
"""

import numpy as np

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.lane_devices import enter_breakdowns, enter_devices
from shouldread.solve.lane_stamps import enter_fixed, new_block
from shouldread.solve.lu import factor, substitute
from shouldread.solve.plan import Plan, places

SOLVED, FAILED = 0, 1
MOST = 150  # iterations of one attempt
NEAR = 1e-9  # V: a step below it ends the search; one more step polishes


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


@kernel
def newton(b, S, bits, net, plan, most):
    """Solve from x in place. Returns SOLVED or FAILED."""
    order, no = np.zeros(plan.row.size - 1, np.int64), np.bool_(False)
    assemble(b, S, bits, net, plan, no, no)
    calm = 0
    for _ in range(most):
        A, step = assemble(b, S, bits, net, plan, no, np.bool_(True))
        if factor(A, order) == 0.0:
            return FAILED
        substitute(A, order, step)
        biggest = 0.0
        for k in range(1, step.size):
            if not abs(step[k]) < 1e12:
                return FAILED
            b.x[k, 0] -= step[k]
            if k < plan.size:
                biggest = max(biggest, abs(step[k]) / (1.0 + 1e-3 * abs(b.x[k, 0])))
        calm = calm + 1 if not b.far[0] and biggest < NEAR else 0
        if calm == 2:
            return SOLVED
    return FAILED


@kernel
def settle(x, S, bits, net):
    """From x by itself; else by a shunt to where it stood, taken away step by step. Returns SOLVED or FAILED."""
    plan = full_plan(x.size, net, np.bool_(False))
    b = new_block(net, plan, np.int64(1))
    enter_breakdowns(b, S, net)
    b.x[: x.size, 0] = x
    if newton(b, S, bits, net, plan, np.int64(MOST)) == SOLVED:
        x[:] = b.x[: x.size, 0]
        return SOLVED
    b.x[:] = 0.0
    b.x[: x.size, 0] = x
    b.ref[:] = b.x
    good = b.x.copy()
    shunt, shrink = 1.0, 0.1
    while shunt > 1e-13:
        b.hold[:] = shunt
        if newton(b, S, bits, net, plan, np.int64(60)) == SOLVED:
            good[:] = b.x
            shunt *= shrink
            shrink = max(0.01, shrink * 0.5)
        else:
            b.x[:] = good
            if shrink > 0.9:
                return FAILED
            shunt = shunt / shrink
            shrink = shrink**0.3
            shunt *= shrink
    b.hold[:] = 0.0
    status = newton(b, S, bits, net, plan, np.int64(MOST))
    x[:] = b.x[: x.size, 0]
    return status
