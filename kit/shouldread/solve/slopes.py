"""How each node's balance moves with each number: exact for linear elements, by the device law for the others."""

import numpy as np

from shouldread.solve.net import Floats, Ints
from shouldread.solve.newton import assemble
from shouldread.solve.steady import Rest, arrays

STEP = 1e-6  # relative, of a number of one device: its law is evaluated, nothing is solved again


def balance_slopes(point: Rest, slots: Ints) -> Floats:
    """(N, P) d balance / d slot at a resting point."""
    net = point.net
    out = np.zeros((net.size, len(slots)))
    a, f = np.zeros((net.size, net.size)), np.zeros(net.size)
    held = np.zeros(len(net.diodes) + 2 * len(net.bipolars) + 4 * len(net.fields))
    kernels, work, s = arrays(net), np.zeros(8), point.slots.copy()
    linear = {int(r[2]): r for r in net.resistors}
    root = np.arange(net.size)
    for row in net.constraints[::-1]:
        root[row[0]] = root[row[1]]
    for k, slot in enumerate(slots):
        if slot in linear:
            i, j, _ = linear[slot]
            slope = -(point.x[i] - point.x[j]) / s[slot] ** 2
            out[root[i], k] += slope
            out[root[j], k] -= slope
            continue
        was = s[slot]
        step = STEP * (abs(was) if was else 1.0)
        sides = []
        for sign in (1.0, -1.0):
            s[slot] = was + sign * step
            assemble(point.x, s, point.bits, False, held, 0.0, point.x, kernels, a, f, work)
            sides.append(f.copy())
        s[slot] = was
        out[:, k] = (sides[0] - sides[1]) / (2 * step)
    out[0] = 0.0
    return out
