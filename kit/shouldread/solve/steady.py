"""From power-up to the asked state, and whether that answer is stable, alone, and held."""

from dataclasses import dataclass

import numpy as np

from shouldread.solve.bits import FAILED, RESTLESS, SOLVED, rest, rise
from shouldread.solve.lu import factor, substitute
from shouldread.solve.net import Floats, Ints, Net
from shouldread.solve.newton import assemble, newton

STEPS = 8  # of a rise from power-up
FLOATS = 1e8  # ohm: what holds a node more loosely than this does not hold it
Arrays = tuple[Ints, Ints, Ints, Ints, Ints, Ints, Ints, Ints, Ints]


def arrays(net: Net) -> Arrays:
    """The element arrays in the order that the kernels take them."""
    return (
        net.resistors,
        net.currents,
        net.gains,
        net.constraints,
        net.switches,
        net.diodes,
        net.bipolars,
        net.fields,
        net.rows,
    )


def sources(net: Net) -> Ints:
    """Slots of all independent sources: what rises at power-up."""
    rows = [int(r[4]) for r in net.constraints if r[2] < 0] + [int(r[2]) for r in net.currents]
    return np.array(rows, dtype=np.int64)


@dataclass(slots=True)
class Rest:
    """Where a net came to rest: node volts, switch bits, status, and the matrix there."""

    x: Floats
    bits: Ints
    status: int
    slots: Floats
    net: Net

    def matrix(self) -> Floats:
        """Slopes of the balances at this point."""
        a, f = np.zeros((self.net.size, self.net.size)), np.zeros(self.net.size)
        assemble(
            self.x, self.slots, self.bits, False, _held(self.net), 0.0, self.x, arrays(self.net), a, f, np.zeros(8)
        )
        return a

    def balance(self) -> Floats:
        """What is left of Kirchhoff's current law at each node (A)."""
        a, f = np.zeros((self.net.size, self.net.size)), np.zeros(self.net.size)
        assemble(
            self.x, self.slots, self.bits, False, _held(self.net), 0.0, self.x, arrays(self.net), a, f, np.zeros(8)
        )
        return f


def _held(net: Net) -> Floats:
    return np.zeros(len(net.diodes) + 2 * len(net.bipolars) + 4 * len(net.fields))


def power_up(net: Net, before: Rest | None = None) -> Rest:
    """The net's resting point, reached from ``before`` (None: everything at zero)."""
    kernels, slots = arrays(net), net.slots
    x = np.zeros(net.size) if before is None or len(before.x) != net.size else before.x.copy()
    bits = net.first_bits.copy() if before is None or len(before.bits) != len(net.first_bits) else before.bits.copy()
    which = sources(net)
    old = (
        np.zeros(len(which))
        if before is None
        else before.slots[which]
        if len(before.slots) == len(slots)
        else np.zeros(len(which))
    )
    a, f = np.zeros((net.size, net.size)), np.zeros(net.size)
    status = int(rise(x, slots, bits, net.held, old, which, STEPS, kernels, a, f))
    if status == FAILED:
        x[:] = 0
        bits = net.first_bits.copy()
        status = int(rise(x, slots, bits, net.held, np.zeros(len(which)), which, 60, kernels, a, f))
    point = Rest(x, bits, status, slots, net)
    return _leave_the_ridge(point) if status == SOLVED else point


def reduced(point: Rest) -> tuple[Floats, Ints]:
    """Slopes over the nodes that no ideal source ties, and their numbers."""
    matrix, net = point.matrix(), point.net
    children = [int(r[0]) for r in net.constraints]
    free = np.array([k for k in range(1, net.size) if k not in set(children)], dtype=np.int64)
    if not children:
        return matrix[np.ix_(free, free)], free
    tied = np.array(children, dtype=np.int64)
    inner = matrix[np.ix_(tied, tied)]
    follow = -np.linalg.solve(inner, matrix[np.ix_(tied, free)])
    return matrix[np.ix_(free, free)] + matrix[np.ix_(free, tied)] @ follow, free


def unstable_direction(point: Rest) -> Floats | None:
    """The direction in which a metastable point is left, or None when it is stable.

    Any positive capacitances give the sign of the real eigenvalue that matters (that of the determinant);
    the eigenvalue itself is looked at so that two unstable latches at once are seen too.
    """
    if len(point.net.bipolars) + len(point.net.fields) + len(point.net.gains) + len(point.net.constraints) < 2:
        return None
    matrix, free = reduced(point)
    if not len(free):
        return None
    scale = np.maximum(np.abs(np.diag(matrix)), 1e-15)
    values, vectors = np.linalg.eig(matrix / scale[:, None])
    real = np.where(np.abs(values.imag) < 1e-9 * np.abs(values), values.real, np.inf)
    at = int(np.argmin(real))
    if not real[at] < -1e-9:
        return None
    direction = np.zeros(point.net.size)
    direction[free] = vectors[:, at].real
    lead = int(np.argmax(np.abs(direction)))
    return direction / direction[lead]


def _leave_the_ridge(point: Rest) -> Rest:
    for _ in range(6):
        direction = unstable_direction(point)
        if direction is None:
            return point
        for sign in (1.0, -1.0):
            moved = roll(point, point.x + 0.02 * sign * direction)
            if moved.status == SOLVED and np.abs(moved.x - point.x).max() > 1e-3:
                point = moved
                break
        else:
            return point
    return point


def roll(point: Rest, x: Floats) -> Rest:
    """From x to rest as charged nodes would go (implicit Euler with growing steps), then bits and all."""
    net, kernels = point.net, arrays(point.net)
    x, bits = x.copy(), point.bits.copy()
    x[0] = 0.0
    a, f = np.zeros((net.size, net.size)), np.zeros(net.size)
    hold, ref = 1.0, x.copy()
    for _ in range(200):
        trial = x.copy()
        if newton(trial, point.slots, bits, hold, ref, kernels, a, f, 60) == SOLVED:
            moved = np.abs(trial - x).max()
            x[:] = trial
            ref[:] = trial
            if moved < 0.3:
                hold *= 0.5
            if hold < 1e-11 and moved < 1e-9:
                break
        else:
            hold *= 4
            if hold > 1e9:
                break
    status = int(rest(x, point.slots, bits, net.held, kernels, a, f))
    return Rest(x, bits, status, point.slots, net)


def resistances(point: Rest) -> Floats:
    """Small-signal ohms from every node to ground (inf where nothing holds it)."""
    net = point.net
    matrix = point.matrix()
    root = np.arange(net.size)
    for r in net.constraints[::-1]:
        root[r[0]] = root[r[1]]
    for k in range(1, net.size):
        if root[k] == k:
            matrix[k, k] += 1e-14
    order = np.zeros(net.size, np.int64)
    if factor(matrix, order) == 0.0:
        return np.full(net.size, np.inf)
    out = np.zeros(net.size)
    for k in range(1, net.size):
        if root[k] != 0:
            unit = np.zeros(net.size)
            unit[root[k]] = 1.0
            substitute(matrix, order, unit)
            out[k] = unit[k]
    return out


def others(point: Rest) -> list[Rest]:
    """Other stable resting points of the same net, found from different starts."""
    net = point.net
    if len(net.bipolars) + len(net.fields) < 2 and not len(net.switches):
        return []
    top = max((abs(float(v)) for v in point.slots[sources(net)]), default=1.0) or 1.0
    starts = [np.full(net.size, top), np.zeros(net.size), 2 * point.x.mean() - point.x]
    phases = np.arange(net.size) * 0.6180339887498949
    starts += [top * ((phases * (k + 1)) % 1.0) for k in range(6)]
    found: list[Rest] = []
    trials = [power_up(net), *(roll(point, x) for x in starts)]
    for k in range(len(net.switches)):
        if net.held[k] < 0:
            bits = point.bits.copy()
            bits[k] = 1 - bits[k]
            trials.append(roll(Rest(point.x, bits, SOLVED, point.slots, net), point.x))
    for trial in trials:
        known = [point, *found]
        if (
            trial.status == SOLVED
            and all(_differs(trial, other) for other in known)
            and unstable_direction(trial) is None
        ):
            found.append(trial)
    return found


def _differs(a: Rest, b: Rest) -> bool:
    held = resistances(a) < FLOATS
    held[0] = True
    return bool(np.abs(a.x - b.x)[held].max() > 1e-3)


__all__ = [
    "FAILED",
    "FLOATS",
    "RESTLESS",
    "SOLVED",
    "Arrays",
    "Rest",
    "arrays",
    "others",
    "power_up",
    "resistances",
    "sources",
]
