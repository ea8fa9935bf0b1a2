"""Switch elements as bits outside Newton's method: hard thresholds with memory (numba)."""

import numpy as np

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.newton import FAILED, SOLVED, settle

__all__ = ["FAILED", "RESTLESS", "SOLVED", "rest", "rest_lanes", "rise"]
RESTLESS = 2  # no pattern of bits agrees with what it brings about: it never comes to rest


@kernel
def wrong_bit(x, s, bits, held, switches):
    """The switch that contradicts its control volts most (in units of volts), or -1."""
    worst, most = -1, 0.0
    for k in range(switches.shape[0]):
        if held[k] >= 0:
            continue
        v, base = x[switches[k, 2]] - x[switches[k, 3]], switches[k, 4]
        over = v - s[base] - s[base + 1] if bits[k] == 0 else s[base] - s[base + 1] - v
        if over > most:
            worst, most = k, over
    return worst


@kernel
def rest(x, s, bits, held, net, A, f):
    """Solve, turn the most contradicted bit, again, until none is. Returns SOLVED, FAILED or RESTLESS."""
    switches = net[4]
    n = switches.shape[0]
    for k in range(n):
        if held[k] >= 0:
            bits[k] = held[k]
    most = 4 * n + 4
    seen = np.zeros((most, n), np.int64)
    for turn in range(most):
        if settle(x, s, bits, net, A, f) != SOLVED:
            return FAILED
        k = wrong_bit(x, s, bits, held, switches)
        if k < 0:
            return SOLVED
        for before in range(turn):
            same = True
            for j in range(n):
                if seen[before, j] != bits[j]:
                    same = False
                    break
            if same:
                return RESTLESS
        for j in range(n):
            seen[turn, j] = bits[j]
        bits[k] = 1 - bits[k]
    return RESTLESS


@kernel
def rise(x, s, bits, held, old, sources, steps, net, A, f):
    """Bring the sources from their old numbers to the new ones in steps, at rest after each."""
    part = s.copy()
    status = SOLVED
    for step in range(1, steps + 1):
        share = step / steps
        for k in range(sources.size):
            part[sources[k]] = old[k] + share * (s[sources[k]] - old[k])
        status = rest(x, part, bits, held, net, A, f)
    return status


@kernel
def rest_lanes(X, S, B, held, status, net):
    """Every lane to rest, in place."""
    n = X.shape[1]
    A, f = np.zeros((n, n)), np.zeros(n)
    for k in range(X.shape[0]):
        status[k] = rest(X[k], S[k], B[k], held, net, A, f)
