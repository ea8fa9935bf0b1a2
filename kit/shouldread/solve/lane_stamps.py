"""Balances and slopes of many lanes at once, entered along one plan (numba).

What belongs to ground goes nowhere: its row and its entry are the last of their array, and are left out.
"""

import numpy as np

from shouldread.parts.laws.junction import GMIN
from shouldread.parts.laws.kernel import inlined, kernel


@kernel
def add(to, r, w, k, sign):
    """Add row k of ``w`` to row r, or take it away, unless that is the last row."""
    if r != to.shape[0] - 1:
        for i in range(to.shape[1]):
            to[r, i] += sign * w[k, i]


@kernel
def cross(A, at, p, q, c, d, w, k):
    """Row k of ``w`` as a slope: of a current out of balance p into balance q, by the volts at c over those at d."""
    for n in range(4):
        place = at[p if n < 2 else q, c if n % 2 == 0 else d]
        add(A, np.int64(place), w, k, 1.0 if n == 0 or n == 3 else -1.0)


@inlined
def _conductances(g, S, bits, net):
    """Of each resistor and switch, a few lanes at a time (numbers of one lane lie side by side); last, gmin."""
    lanes, many = S.shape[0], net.resistors.shape[0]
    for low in range(0, lanes, 8):
        for k in range(many):
            slot = net.resistors[k, 2]
            for i in range(low, min(low + 8, lanes)):
                g[k, i] = S[i, slot]
    for k in range(net.switches.shape[0]):
        base = net.switches[k, 4]
        for i in range(lanes):
            g[many + k, i] = S[i, base + (2 if bits[i, k] else 3)]
    for i in range(lanes):
        g[g.shape[0] - 1, i] = 1.0 / GMIN
    for k in range(g.shape[0]):
        for i in range(lanes):
            g[k, i] = 1.0 / g[k, i]


@kernel
def _substrate(bipolars, k):
    """The node that the default substrate of a bipolar ties to ground: collector of an NPN, base of a PNP."""
    return bipolars[k, 0] if bipolars[k, 3] > 0 else bipolars[k, 1]


@kernel
def _ends(net, k):
    """The nodes between which conductance k lies: a resistor's, a switch's, a substrate's."""
    many = net.resistors.shape[0]
    if k < many:
        return net.resistors[k, 0], net.resistors[k, 1]
    if k < many + net.switches.shape[0]:
        return net.switches[k - many, 0], net.switches[k - many, 1]
    return _substrate(net.bipolars, k - many - net.switches.shape[0]), np.int64(0)


@kernel
def _numbers(w, S, slot, sign):
    """Row 0 of ``w``: one number of each lane; the sign alone for slot -1."""
    for i in range(S.shape[0]):
        w[0, i] = sign * S[i, slot] if slot >= 0 else sign


@kernel
def enter_slopes(b, S, bits, net, plan, merged):
    """What does not depend on the devices into ``fixed``. ``merged``: as the plan is."""
    A, at, row, col, g, w = b.fixed, plan.at, plan.row, plan.col, b.g, b.w
    A[:] = 0.0
    _conductances(g, S, bits, net)
    total = net.resistors.shape[0] + net.switches.shape[0]
    for k in range(total + net.bipolars.shape[0]):
        p, q = _ends(net, k)
        cross(A, at, row[p], row[q], col[p], col[q], g, min(k, total))
    for k in range(net.gains.shape[0]):
        line = net.gains[k]
        _numbers(w, S, line[4], 1.0)
        cross(A, at, row[line[0]], row[line[1]], col[line[2]], col[line[3]], w, np.int64(0))
    _source_slopes(A, w, S, net, plan, merged)
    if net.tips.shape[0] > 0:
        _meter_slopes(A, S, net, plan)
    for k in range(1, plan.size):
        if col[k] == k and row[k] == k:
            add(A, np.int64(at[k, k]), b.hold, k, 1.0)


@kernel
def _meter_slopes(A, S, net, plan):
    """The meter's conductance, in each lane between a pair of its own."""
    o = net.tips[0, 2]
    for i in range(S.shape[0]):
        k, siemens = int(S[i, o]), S[i, o + 1]
        a, b = net.tips[k, 0], net.tips[k, 1]
        for r, way in ((plan.row[a], siemens), (plan.row[b], -siemens)):
            A[plan.at[r, plan.col[a]], i] += way
            A[plan.at[r, plan.col[b]], i] -= way


@kernel
def _meter_balances(x, f, S, net, plan):
    """What the meter draws, and drives, between the pair of each lane."""
    o = net.tips[0, 2]
    for i in range(S.shape[0]):
        k = int(S[i, o])
        a, b = net.tips[k, 0], net.tips[k, 1]
        amps = S[i, o + 1] * (x[a, i] - x[b, i]) - S[i, o + 2]
        f[plan.row[a], i] += amps
        f[plan.row[b], i] -= amps


@inlined
def _source_slopes(A, w, S, net, plan, merged):
    """Equations of ideal sources that have one, and what carries a converter's sensed current."""
    at, row, col, ground = plan.at, plan.row, plan.col, plan.row[0]
    for k in range(net.constraints.shape[0]):
        child, parent, c, d = (
            net.constraints[k, 0],
            net.constraints[k, 1],
            net.constraints[k, 2],
            net.constraints[k, 3],
        )
        if c < 0 and merged:
            continue
        _numbers(w, S, np.int64(-1), 1.0)
        cross(A, at, child, ground, child, col[parent], w, np.int64(0))
        if c >= 0:
            _numbers(w, S, net.constraints[k, 4], -float(net.constraints[k, 5]))
            cross(A, at, child, ground, col[c], col[d], w, np.int64(0))
    for r in range(net.rows.shape[0]):
        if net.rows[r, 6] >= 0:
            own = plan.size + r
            _numbers(w, S, np.int64(-1), 1.0)
            cross(A, at, own, row[net.constraints[net.rows[r, 6], 1]], own, ground, w, np.int64(0))


@kernel
def _flow(x, f, p, q, rp, rq, g, k):
    """The current that row k of conductances lets pass between two nodes, into the balances of both."""
    last = f.shape[0] - 1
    if rp != last:
        for i in range(x.shape[1]):
            f[rp, i] += g[k, i] * (x[p, i] - x[q, i])
    if rq != last:
        for i in range(x.shape[1]):
            f[rq, i] -= g[k, i] * (x[p, i] - x[q, i])


@kernel
def enter_balances(b, S, net, plan, merged):
    """What does not depend on the devices into ``fixed_f``, at the present x; after the slopes. ``merged``: as there."""
    x, f, g, w, row = b.x, b.fixed_f, b.g, b.w, plan.row
    f[:] = 0.0
    total = net.resistors.shape[0] + net.switches.shape[0]
    for k in range(total + net.bipolars.shape[0]):
        p, q = _ends(net, k)
        _flow(x, f, p, q, row[p], row[q], g, min(k, total))
    for k in range(net.currents.shape[0]):
        _numbers(w, S, net.currents[k, 2], 1.0)
        add(f, row[net.currents[k, 0]], w, np.int64(0), 1.0)
        add(f, row[net.currents[k, 1]], w, np.int64(0), -1.0)
    for k in range(net.gains.shape[0]):
        _numbers(w, S, net.gains[k, 4], 1.0)
        _flow(x, f, net.gains[k, 2], net.gains[k, 3], row[net.gains[k, 0]], row[net.gains[k, 1]], w, np.int64(0))
    _source_balances(x, f, S, net, plan, merged)
    if net.tips.shape[0] > 0:
        _meter_balances(x, f, S, net, plan)
    for k in range(1, plan.size):
        if plan.col[k] == k and row[k] == k:
            for i in range(x.shape[1]):
                f[k, i] += b.hold[k, i] * (x[k, i] - b.ref[k, i])


@inlined
def _source_balances(x, f, S, net, plan, merged):
    """By how much ideal sources that have an equation miss it, and the currents that converters sense."""
    for k in range(net.constraints.shape[0]):
        child, parent, c, d = (
            net.constraints[k, 0],
            net.constraints[k, 1],
            net.constraints[k, 2],
            net.constraints[k, 3],
        )
        if c < 0 and merged:
            continue
        slot, sign = net.constraints[k, 4], float(net.constraints[k, 5])
        for i in range(x.shape[1]):
            f[child, i] = x[child, i] - x[parent, i] - sign * S[i, slot] * (1.0 if c < 0 else x[c, i] - x[d, i])
    for r in range(net.rows.shape[0]):
        if net.rows[r, 6] >= 0:
            own = plan.size + r
            add(f, own, x, own, 1.0)
            add(f, plan.row[net.constraints[net.rows[r, 6], 1]], x, own, -1.0)


@kernel
def enter_fixed(b, S, bits, net, plan, merged):
    """What does not depend on the devices, at the present x. ``merged``: as the plan is."""
    enter_slopes(b, S, bits, net, plan, merged)
    enter_balances(b, S, net, plan, merged)
