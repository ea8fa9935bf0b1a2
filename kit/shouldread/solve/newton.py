"""Newton's method for one structure over many lanes (numba, no lock held)."""

import numpy as np

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.lu import factor, substitute
from shouldread.solve.stamps import constrained, devices, linear, sane, width

SOLVED, FAILED = 0, 1
MOST = 150  # iterations of one attempt
NEAR = 1e-9  # V: a step below it ends the search; one more step polishes


@kernel
def assemble(x, s, bits, limit, held, shunt, ref, net, A, f, work):
    """Balance f and slopes A of all nodes at x, row and column 0 made trivial. Returns whether a step was held."""
    resistors, currents, gains, constraints, switches, diodes, bipolars, fields, rows = net
    A[:] = 0.0
    f[:] = 0.0
    linear(x, s, bits, resistors, currents, gains, switches, A, f)
    far = devices(x, s, held, limit, diodes, bipolars, fields, A, f, work)
    if shunt > 0.0:
        for k in range(1, x.size):
            A[k, k] += shunt
            f[k] += shunt * (x[k] - ref[k])
    constrained(x, s, constraints, rows, A, f)
    A[0, :] = 0.0
    A[:, 0] = 0.0
    A[0, 0] = 1.0
    f[0] = 0.0
    for k in range(1, x.size):
        if A[k, k] == 0.0:
            empty = True
            for j in range(x.size):
                if A[k, j] != 0.0:
                    empty = False
                    break
            if empty:
                A[k, k] = 1e-18  # nothing at all holds this node: found to float afterwards
    return far


@kernel
def newton(x, s, bits, shunt, ref, net, A, f, most):
    """Solve from x in place. Returns SOLVED or FAILED; A and f are those at the solution."""
    work = np.zeros(8)
    held = np.zeros(width(net[5], net[6], net[7]))
    order = np.zeros(x.size, np.int64)
    step = np.zeros(x.size)
    start = x.copy()
    assemble(start, s, bits, False, held, shunt, ref, net, A, f, work)
    calm = 0
    for _ in range(most):
        far = assemble(x, s, bits, True, held, shunt, ref, net, A, f, work)
        if factor(A, order) == 0.0:
            return FAILED
        step[:] = f
        substitute(A, order, step)
        if not sane(step):
            return FAILED
        biggest = 0.0
        for k in range(1, x.size):
            biggest = max(biggest, abs(step[k]) / (1.0 + 1e-3 * abs(x[k])))
            x[k] -= step[k]
        if not far and biggest < NEAR:
            calm += 1
            if calm == 2:
                assemble(x, s, bits, False, held, shunt, ref, net, A, f, work)
                return SOLVED
        else:
            calm = 0
    return FAILED


@kernel
def settle(x, s, bits, net, A, f):
    """From x by itself; else by a shunt to where it stood, taken away step by step. Returns SOLVED or FAILED."""
    ref = x.copy()
    first = x.copy()
    if newton(x, s, bits, 0.0, ref, net, A, f, MOST) == SOLVED:
        return SOLVED
    x[:] = first
    shunt = 1.0
    good = first.copy()
    factor = 0.1
    while shunt > 1e-13:
        if newton(x, s, bits, shunt, ref, net, A, f, 60) == SOLVED:
            good[:] = x
            shunt *= factor
            factor = max(0.01, factor * 0.5)
        else:
            x[:] = good
            if factor > 0.9:
                return FAILED
            shunt = shunt / factor
            factor = factor**0.3
            shunt *= factor
    return newton(x, s, bits, 0.0, ref, net, A, f, MOST)


@kernel
def lanes(X, S, B, status, net):
    """Every lane from its own start and bits, in place."""
    n = X.shape[1]
    A, f = np.zeros((n, n)), np.zeros(n)
    for k in range(X.shape[0]):
        status[k] = settle(X[k], S[k], B[k], net, A, f)
