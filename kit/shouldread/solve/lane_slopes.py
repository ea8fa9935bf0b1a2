"""Rows of the inverse, and how volts move with each number, over many lanes at once (numba)."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.parts.laws.kernel import inlined, kernel
from shouldread.solve.devices import AS_IS, bipolar_amps, converter_at, diode_amps, field_amps
from shouldread.solve.lane_block import block_at
from shouldread.solve.lane_devices import enter_devices
from shouldread.solve.lane_factor import eliminate, transposed
from shouldread.solve.lane_laws import enter_numbers
from shouldread.solve.lane_stamps import enter_fixed
from shouldread.solve.net import Floats, Ints, Net
from shouldread.solve.plan import Plan

STEP = 1e-6  # relative, of a number of one device: its law is evaluated, nothing is solved again
LANES = 128
LOOSE = 1e11  # ohm: a lane with a node that is held more loosely than this is near to singular
SENSED = 1e-12  # of a sensed current: what it may still be off by ...
FAINT = 1e-6  # A: ... or of so little, where it is next to nothing
UNSEEN = 1e-12  # V: what a device does at most by any of its numbers is left out below this ...
BEND = 100.0  # ... a number moving its amps by no more than so many times what they are
TRACE = 1e-14  # S: keeps a matrix of floating nodes from being singular
RESISTOR, CURRENT, GAIN, SWITCH, DIODE, BIPOLAR, FIELD, SOURCE, CONVERTER, OTHER = range(10)


@dataclass(frozen=True, slots=True)
class Moved:
    """How far numbers are moved at once: ``by`` (L, P; SI), and the column (P,) of ``count`` that each belongs to."""

    by: Floats
    column: Ints
    count: int


def homes_of(net: Net, slots: Ints) -> Ints:
    """For each slot the sort of element it belongs to, its number there, and which of its numbers it is (P, 3)."""
    home = np.full((len(net.slots), 3), (OTHER, 0, 0), dtype=np.int64)
    for sort, rows, first, many in (
        (RESISTOR, net.resistors, 2, 1),
        (CURRENT, net.currents, 2, 1),
        (GAIN, net.gains, 4, 1),
        (SWITCH, net.switches, 4, 4),
        (DIODE, net.diodes, 2, 6),
        (BIPOLAR, net.bipolars, 4, 15),
        (FIELD, net.fields, 5, 9),
        (SOURCE, net.constraints, 4, 1),
        (CONVERTER, net.rows, 7, 2),
    ):
        for own in range(many if len(rows) else 0):
            at = rows[:, first] + own
            home[at, 0], home[at, 1], home[at, 2] = sort, np.arange(len(rows)), own
    return home[slots]


@kernel
def linearise(b, S, bits, net, plan, merged, last):
    """Slopes of all balances at x, the first ``last`` pivots eliminated; a converter's sensed current found on the way.

    ``merged``: as the plan is.
    """
    for _ in range(net.rows.shape[0] + 1):
        enter_fixed(b, S, bits, net, plan, merged)
        b.A[:] = b.fixed
        b.f[:] = b.fixed_f
        enter_devices(b, S, net, plan, np.int64(AS_IS))
        far = False
        for r in range(plan.size, plan.row.size - 1):
            for i in range(b.x.shape[1]):
                b.x[r, i] -= b.f[r, i]
                far = far or abs(b.f[r, i]) > SENSED * (abs(b.x[r, i]) + FAINT)
        if not far:
            break
    eliminate(b.A, b.f, plan, np.int64(0), last)


@kernel
def carry(b, pairs, net, plan, out, loose):
    """Rows of the inverse of one factored block for pairs (L, K, 2): out (L, K, N + C + B) as inverse_lanes has it;
    ``loose``: which lanes have a node that next to nothing holds."""
    size = plan.size
    for k in range(pairs.shape[1]):
        b.f[:] = 0.0
        for i in range(out.shape[0]):
            b.f[plan.col[pairs[i, k, 0]], i] += 1.0
            b.f[plan.col[pairs[i, k, 1]], i] -= 1.0
        transposed(b.A, b.f, plan)
        b.f[plan.row.size - 1] = 0.0
        for i in range(out.shape[0]):
            for n in range(size):
                out[i, k, n] = b.f[plan.row[n], i]
                loose[i] |= not abs(out[i, k, n]) < LOOSE
            _sources(b, net, plan, i, out[i, k, size:])


@kernel
def inverse_block(X, S, bits, pairs, hold, net, plan, out, loose):
    """One block of ``inverse_lanes``."""
    b = block_at(X, net, plan)
    b.ref[:] = b.x
    b.hold[:] = hold
    enter_numbers(b, S, net)
    linearise(b, S, bits, net, plan, np.bool_(False), plan.order.size)
    carry(b, pairs, net, plan, out, loose)


def inverse_lanes(
    x: Floats, slots: Floats, bits: Ints, pairs: Ints, hold: float, net: Net, plan: Plan
) -> tuple[Floats, NDArray[np.bool_]]:
    """Rows of the inverse for the volts of pairs of nodes (L, K, 2) (L, K, N + C + B), by node and by source.

    By node: volts per ampere that is put into it; by source: volts per volt of it; last, the same in every row, the
    amps that each converter senses. ``hold``: siemens that stand from every node to where it is. Also which lanes (L,)
    have a node that next to nothing holds.
    """
    out = np.empty((len(x), pairs.shape[1], net.size + len(net.constraints) + len(net.rows)))
    loose = np.zeros(len(x), np.bool_)
    for low in range(0, len(x), LANES):
        now = slice(low, low + LANES)
        some = x[now], slots[now], bits[now], pairs[now]
        inverse_block(*some, hold, net.arrays, plan, out[now], loose[now])
    return out, loose


@kernel
def _sources(b, net, plan, i, out):
    """One lane's row of the inverse by source, and what converters sense."""
    count = net.constraints.shape[0]
    for c in range(count):
        out[c] = b.f[net.constraints[c, 0], i]
    for r in range(net.rows.shape[0]):
        sense = net.rows[r, 6]
        out[count + r] = float(net.constraints[sense, 5]) * b.x[plan.size + r, i] if sense >= 0 else 0.0


@kernel
def _amps(x, S, sort, row, o, sensed, out):
    """Amps that one device draws from the nodes of its row, in their order."""
    if sort == DIODE:
        out[0] = diode_amps(x, S, row, o)
        out[1] = -out[0]
    elif sort == BIPOLAR:
        out[0], out[1] = bipolar_amps(x, S, row, o)
        out[2] = -out[0] - out[1]
    elif sort == FIELD:
        through, to_s, to_d = field_amps(x, S, row, o)
        out[0], out[1], out[2], out[3] = through - to_d, 0.0, -through - to_s, to_s + to_d
    else:
        vin, vout = x[row[4]] - x[row[5]], x[row[2]] - x[row[3]]
        out[0] = sensed * (converter_at(vin, vout, S, 0, o)[0] - 1.0)
        out[1] = -out[0]


@kernel
def _by_law(x, S, slot, sort, row, o, sensed, up, down):
    """``up``: slopes of a device's amps by one of its numbers, from its law a little to both sides."""
    was = S[0, slot]
    step = STEP * (abs(was) if was != 0.0 else 1.0)
    S[0, slot] = was + step
    _amps(x, S, sort, row, o, sensed, up)
    S[0, slot] = was - step
    _amps(x, S, sort, row, o, sensed, down)
    S[0, slot] = was
    for k in range(up.size):
        up[k] = (up[k] - down[k]) / (2.0 * step)


@kernel
def _alike(x, row, many):
    """Whether so many nodes of a row stand alike: through a device between them nothing flows, whatever its numbers."""
    for j in range(1, many):
        if x[row[j]] != x[row[0]]:
            return False
    return True


@inlined
def _enter(lane, to, node, amps, inverse, out):
    """What is done by drawing so much more from a node."""
    for pair in range(inverse.shape[1]):
        out[lane, pair, to] -= inverse[lane, pair, node] * amps


@inlined
def _between(lane, to, a, b, amps, inverse, out):
    """What is done by drawing so much more from one node into another."""
    _enter(lane, to, a, amps, inverse, out)
    _enter(lane, to, b, -amps, inverse, out)


@kernel
def _row_of(sort, k, net):
    """The row of a device, how many nodes it has, and where in the row its first number stands."""
    if sort == DIODE:
        return net.diodes[k], 2, 2
    if sort == BIPOLAR:
        return net.bipolars[k], 3, 4
    if sort == FIELD:
        return net.fields[k], 4, 5
    return net.rows[k], 2, 7


@kernel
def _idle(lane, x, S, home, net, inverse, amps):
    """Whether nothing that a device draws in a lane is seen at any pair, whichever of its numbers moves."""
    sort, k = home[0], home[1]
    if sort == CONVERTER:
        return False
    row, many, o = _row_of(sort, k, net)
    if _alike(x, row, many):
        return True
    _amps(x, S, sort, row, row[o], 0.0, amps)
    most, seen = 0.0, 0.0
    for j in range(many):
        most = max(most, abs(amps[j]))
        for pair in range(inverse.shape[1]):
            seen = max(seen, abs(inverse[lane, pair, row[j]]))
    return BEND * most * seen < UNSEEN


@kernel
def _of_device(lane, to, x, S, slot, home, weight, net, inverse, amps, down, out):
    """Enter what a device's number does."""
    sort, k, flow = home[0], home[1], 0.0
    row, many, o = _row_of(sort, k, net)
    if sort == CONVERTER:
        flow = inverse[lane, 0, x.size + net.constraints.shape[0] + k]
    _by_law(x, S, slot, sort, row, row[o], flow, amps, down)
    for j in range(many):
        _enter(lane, to, row[j], amps[j] * weight, inverse, out)


@kernel
def slope_lanes(X, S, bits, slots, homes, weights, columns, inverse, net, out):
    """out (L, K, C): change of each picked pair's volts by all slots (P,) of a column (P,) at once, each moved by its
    weight (L, P); ``inverse`` as inverse_lanes has it."""
    own, amps, down = np.zeros((1, S.shape[1])), np.zeros(4), np.zeros(4)
    out[:] = 0.0
    for lane in range(X.shape[0]):
        own[0] = S[lane]
        which, at, idle = OTHER, 0, False  # the device that a number was of last, and whether it is idle
        for p in range(slots.shape[0]):
            sort, k, slot, weight, to = homes[p, 0], homes[p, 1], slots[p], weights[lane, p], columns[p]
            if sort == RESISTOR:
                a, b, ohms = net.resistors[k, 0], net.resistors[k, 1], S[lane, slot]
                _between(lane, to, a, b, -(X[lane, a] - X[lane, b]) / (ohms * ohms) * weight, inverse, out)
            elif sort == SOURCE:
                up, below, size = net.constraints[k, 2], net.constraints[k, 3], X.shape[1]
                over = float(net.constraints[k, 5]) * (1.0 if up < 0 else X[lane, up] - X[lane, below])
                _enter(lane, to, size + k, -over * weight, inverse, out)
            elif sort == SWITCH:
                if homes[p, 2] == (2 if bits[lane, k] else 3):
                    a, b, ohms = net.switches[k, 0], net.switches[k, 1], S[lane, slot]
                    _between(lane, to, a, b, -(X[lane, a] - X[lane, b]) / (ohms * ohms) * weight, inverse, out)
            elif sort == CURRENT:
                _between(lane, to, net.currents[k, 0], net.currents[k, 1], weight, inverse, out)
            elif sort == GAIN:
                over = X[lane, net.gains[k, 2]] - X[lane, net.gains[k, 3]]
                _between(lane, to, net.gains[k, 0], net.gains[k, 1], over * weight, inverse, out)
            elif sort != OTHER:
                if sort != which or k != at:
                    which, at, idle = sort, k, _idle(lane, X[lane], own, homes[p], net, inverse, amps)
                if not idle:
                    _of_device(lane, to, X[lane], own, slot, homes[p], weight, net, inverse, amps, down, out)


def inverse_rows(x: Floats, slots: Floats, bits: Ints, pairs: Ints, net: Net, hold: float = 0.0) -> Floats:
    """Rows of the inverse of every lane (L, K, N + C + B) for pairs of nodes (K, 2), or (L, K, 2) of its own; ``hold`` as
    for lanes."""
    plan, pairs = net.whole, np.array(np.broadcast_to(pairs, (len(x), *pairs.shape[-2:])), order="C")
    out, loose = inverse_lanes(x, slots, bits, pairs, hold, net, plan)
    if hold < TRACE and loose.any():
        out[loose], _ = inverse_lanes(x[loose], slots[loose], bits[loose], pairs[loose], TRACE, net, plan)
    return out


def slopes(
    at: tuple[Floats, Floats, Ints], which: Ints, homes: Ints, inverse: Floats, net: Net, moved: Moved | None = None
) -> Floats:
    """Change of each picked pair's volts at ``at`` (volts, slots, bits of every lane) per unit of each of the slots
    ``which`` (L, K, P), or by all of a column that are ``moved`` (L, K, C)."""
    x, slots, bits = at
    if moved is None:
        moved = Moved(np.ones((len(x), len(which))), np.arange(len(which)), len(which))
    out = np.empty((len(x), inverse.shape[1], moved.count))
    if inverse.shape[1]:
        slope_lanes(x, slots, bits, which, homes, moved.by, moved.column, inverse, net.arrays, out)
    return out
