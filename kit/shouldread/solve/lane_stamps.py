"""Balances and slopes of many lanes at once, entered along one plan (numba).

A block of lanes: ``x`` (node or converter current, lane); ``fixed``, ``fixed_f`` what does not depend on the devices,
at the x where it was entered; ``A``, ``f`` with the devices; ``moved`` how far x went since; ``held`` junction volts
held back; ``bv`` breakdown volts; ``hold`` conductance of each node to ``ref`` (a charged node in a step of time).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shouldread.parts.laws.junction import GMIN
from shouldread.parts.laws.kernel import kernel

Floats = NDArray[np.float64]


class Block(NamedTuple):
    """Working arrays of one block of lanes."""

    x: Floats
    fixed: Floats
    fixed_f: Floats
    A: Floats
    f: Floats
    moved: Floats
    held: Floats
    bv: Floats
    hold: Floats
    ref: Floats
    g: Floats
    far: NDArray[np.bool_]


@kernel
def new_block(net, plan, lanes):
    """Empty arrays for a block of lanes."""
    total, junctions = plan.row.size, net.diodes.shape[0] + 2 * net.bipolars.shape[0] + 4 * net.fields.shape[0]
    entries = plan.entries + 1
    return Block(
        np.zeros((total, lanes)),
        np.zeros((entries, lanes)),
        np.zeros((total, lanes)),
        np.zeros((entries, lanes)),
        np.zeros((total, lanes)),
        np.zeros((total, lanes)),
        np.zeros((junctions, lanes)),
        np.zeros((net.diodes.shape[0], lanes)),
        np.zeros((total, lanes)),
        np.zeros((total, lanes)),
        np.zeros(lanes),
        np.zeros(lanes, np.bool_),
    )


@kernel
def enter_conductances(b, S, bits, net, plan):
    """Resistors, switches and substrates into ``fixed`` and ``fixed_f``, at the present x."""
    for k in range(net.resistors.shape[0]):
        slot = net.resistors[k, 2]
        for i in range(b.x.shape[1]):
            b.g[i] = 1.0 / S[i, slot]
        enter_pair(b, plan, net.resistors[k, 0], net.resistors[k, 1])
    for k in range(net.switches.shape[0]):
        base = net.switches[k, 4]
        for i in range(b.x.shape[1]):
            b.g[i] = 1.0 / S[i, base + (2 if bits[i, k] else 3)]
        enter_pair(b, plan, net.switches[k, 0], net.switches[k, 1])
    b.g[:] = GMIN
    for k in range(net.bipolars.shape[0]):  # the default substrate: collector of an NPN, base of a PNP, to ground
        enter_pair(b, plan, net.bipolars[k, 0] if net.bipolars[k, 3] > 0 else net.bipolars[k, 1], np.int64(0))


@kernel
def enter_pair(b, plan, p, q):
    """The conductances ``g`` of all lanes between two nodes."""
    x, A, f, g = b.x, b.fixed, b.fixed_f, b.g
    rp, rq, cp, cq = plan.row[p], plan.row[q], plan.col[p], plan.col[q]
    pp, qq, pq, qp = plan.at[rp, cp], plan.at[rq, cq], plan.at[rp, cq], plan.at[rq, cp]
    for i in range(x.shape[1]):
        current = g[i] * (x[p, i] - x[q, i])
        f[rp, i] += current
        f[rq, i] -= current
        A[pp, i] += g[i]
        A[qq, i] += g[i]
        A[pq, i] -= g[i]
        A[qp, i] -= g[i]


@kernel
def enter_currents(b, S, net, plan):
    """Current sources and gains."""
    x, A, f = b.x, b.fixed, b.fixed_f
    for k in range(net.currents.shape[0]):
        p, q, slot = plan.row[net.currents[k, 0]], plan.row[net.currents[k, 1]], net.currents[k, 2]
        for i in range(x.shape[1]):
            f[p, i] += S[i, slot]
            f[q, i] -= S[i, slot]
    for k in range(net.gains.shape[0]):
        p, q, c, d = plan.row[net.gains[k, 0]], plan.row[net.gains[k, 1]], net.gains[k, 2], net.gains[k, 3]
        pc, pd, slot = plan.at[p, plan.col[c]], plan.at[p, plan.col[d]], net.gains[k, 4]
        qc, qd = plan.at[q, plan.col[c]], plan.at[q, plan.col[d]]
        for i in range(x.shape[1]):
            g = S[i, slot]
            f[p, i] += g * (x[c, i] - x[d, i])
            f[q, i] -= g * (x[c, i] - x[d, i])
            A[pc, i] += g
            A[pd, i] -= g
            A[qc, i] -= g
            A[qd, i] += g


@kernel
def enter_sources(b, S, net, plan, merged):
    """Equations of ideal sources that have one, and what carries a converter's sensed current."""
    x, A, f = b.x, b.fixed, b.fixed_f
    for k in range(net.constraints.shape[0]):
        child, parent, c, d = (
            net.constraints[k, 0],
            net.constraints[k, 1],
            net.constraints[k, 2],
            net.constraints[k, 3],
        )
        if c < 0 and merged:
            continue
        own, to, slot = plan.at[child, child], plan.at[child, plan.col[parent]], net.constraints[k, 4]
        sign = float(net.constraints[k, 5])
        plus, minus = plan.at[child, plan.col[max(c, 0)]], plan.at[child, plan.col[max(d, 0)]]
        for i in range(x.shape[1]):
            number = sign * S[i, slot]
            A[own, i] += 1.0
            A[to, i] -= 1.0
            f[child, i] = x[child, i] - x[parent, i] - number * (1.0 if c < 0 else x[c, i] - x[d, i])
            if c >= 0:
                A[plus, i] -= number
                A[minus, i] += number
    for r in range(net.rows.shape[0]):
        if net.rows[r, 6] >= 0:
            own, parent = plan.size + r, plan.row[net.constraints[net.rows[r, 6], 1]]
            for i in range(x.shape[1]):
                A[plan.at[own, own], i] += 1.0
                A[plan.at[parent, own], i] -= 1.0
                f[own, i] += x[own, i]
                f[parent, i] -= x[own, i]


@kernel
def enter_holds(b, plan):
    """Nodes held to where they stood by a conductance, as charged capacitances would."""
    for k in range(1, plan.size):
        if plan.col[k] == k and plan.row[k] == k:
            at = plan.at[k, k]
            for i in range(b.x.shape[1]):
                b.fixed[at, i] += b.hold[k, i]
                b.fixed_f[k, i] += b.hold[k, i] * (b.x[k, i] - b.ref[k, i])


@kernel
def enter_fixed(b, S, bits, net, plan, merged):
    """What does not depend on the devices, at the present x. ``merged``: as the plan is."""
    b.fixed[:] = 0.0
    b.fixed_f[:] = 0.0
    enter_conductances(b, S, bits, net, plan)
    enter_currents(b, S, net, plan)
    enter_sources(b, S, net, plan, merged)
    enter_holds(b, plan)
