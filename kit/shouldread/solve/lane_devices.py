"""Diodes, transistors and converters of many lanes at once, entered along one plan (numba)."""

import numpy as np

from shouldread.parts.laws.bipolar import knee, transport_slope
from shouldread.parts.laws.fieldeffect import conduction, threshold
from shouldread.parts.laws.junction import GMIN
from shouldread.parts.laws.kernel import inlined, kernel
from shouldread.solve.devices import converter_at
from shouldread.solve.lane_laws import (
    BEND,
    BETA,
    BODY,
    INV_VAF,
    INV_VAR,
    OIK,
    OIKR,
    ONSET,
    OVER_BF,
    OVER_BR,
    SURFACE,
    take_amps,
    take_volts,
)
from shouldread.solve.lane_stamps import add, cross


@kernel
def enter_devices(b, S, net, plan, limit):
    """Everything that is not linear, into ``A`` and ``f``; ``far``: whether a lane's step was held back."""
    take_volts(b, net, limit)
    take_amps(b, net)
    A, f, w, at, row, col = b.A, b.f, b.w, plan.at, plan.row, plan.col
    held, volts, cut, first = b.held, b.volts, b.cut, net.diodes.shape[0]
    for k in range(first + 2 * net.fields.shape[0]):
        p, q, j, sign = _junction(net, k)
        cross(A, at, row[p], row[q], col[p], col[q], b.slopes, j)
        add(f, row[p], b.amps, j, sign)
        add(f, row[q], b.amps, j, -sign)
    for k in range(net.bipolars.shape[0]):
        h = first + 2 * k
        _through_base(w, b.gummel, held, b.amps, b.slopes, h, h + 1, held.shape[0] + 2 * k, 6 * k)
        if cut[h] or cut[h + 1]:
            _given_base(w, held, volts, h, h + 1)
        _enter_bipolar(A, f, w, at, row, col, net.bipolars, k)
    first += 2 * net.bipolars.shape[0]
    for k in range(net.fields.shape[0]):
        d, s, sign, h = net.fields[k, 0], net.fields[k, 2], float(net.fields[k, 4]), first + 4 * k
        _through_channel(w, b.x, d, s, held, volts, b.level1, h, 5 * k, sign, b.some[h])
        if cut[h] or cut[h + 1] or cut[h + 2] or cut[h + 3]:
            _given_channel(w, held, volts, h)
        _turn_channel(w, sign)
        for n in range(2):
            r, sign = row[s if n else d], -1.0 if n else 1.0
            add(f, r, w, np.int64(4), sign)
            for j in range(4):
                add(A, np.int64(at[r, col[net.fields[k, j]]]), w, j, sign)
    _converters(b, S, net, plan)


@inlined
def _junction(net, k):
    """Nodes, row and sign of a diode, or after those, of a bulk junction."""
    first = net.diodes.shape[0]
    if k < first:
        return net.diodes[k, 0], net.diodes[k, 1], k, 1.0
    n, end = (k - first) // 2, (k - first) % 2
    h = first + 2 * net.bipolars.shape[0] + 4 * n + 2 + end
    return net.fields[n, 3], net.fields[n, 0 if end else 2], h, float(net.fields[n, 4])


@inlined
def _through_base(w, numbers, u, amps, g, be, bc, leak, n):
    """Currents and slopes of a bipolar into rows 0 to 5 of ``w``: ic, ib, and slopes to_be, to_bc, by_be, by_bc."""
    over_q1, root, over_qb, early, back, lanes = 6, 7, 8, 9, 10, w.shape[1]
    for i in range(lanes):
        w[over_q1, i] = 1.0 - u[bc, i] * numbers[n + INV_VAF, i] - u[be, i] * numbers[n + INV_VAR, i]
    for i in range(lanes):
        w[root, i] = knee(amps[be, i], amps[bc, i], numbers[n + OIK, i], numbers[n + OIKR, i])
    for i in range(lanes):
        w[over_qb, i] = 2.0 * w[over_q1, i] / (1.0 + w[root, i])
    for i in range(lanes):
        w[0, i] = (amps[be, i] - amps[bc, i]) * w[over_qb, i]
    for i in range(lanes):
        w[early, i] = w[0, i] / w[over_q1, i]
    for j, inverse, oi, to, sign in ((be, n + INV_VAR, n + OIK, 2, 1.0), (bc, n + INV_VAF, n + OIKR, 3, -1.0)):
        for i in range(lanes):
            w[to, i] = transport_slope(
                g[j, i], w[over_qb, i], sign * w[early, i], numbers[inverse, i], numbers[oi, i], w[root, i]
            )
    for i in range(lanes):
        w[4, i] = g[be, i] * numbers[n + OVER_BF, i] + g[leak, i] + GMIN
    for i in range(lanes):
        w[5, i] = g[bc, i] * numbers[n + OVER_BR, i] + g[leak + 1, i] + GMIN
    for i in range(lanes):
        w[1, i] = amps[be, i] * numbers[n + OVER_BF, i] + amps[leak, i] + GMIN * u[be, i]
    for i in range(lanes):
        w[back, i] = amps[bc, i] * numbers[n + OVER_BR, i] + amps[leak + 1, i] + GMIN * u[bc, i]
    for i in range(lanes):
        w[0, i] -= w[back, i]
        w[1, i] += w[back, i]


@inlined
def _given_base(w, u, v, be, bc):
    """Where volts of a bipolar were held back, its currents along the slopes to the volts given."""
    for i in range(w.shape[1]):
        w[0, i] += w[2, i] * (v[be, i] - u[be, i]) - (w[3, i] + w[5, i]) * (v[bc, i] - u[bc, i])
    for i in range(w.shape[1]):
        w[1, i] += w[4, i] * (v[be, i] - u[be, i]) + w[5, i] * (v[bc, i] - u[bc, i])


@inlined
def _enter_bipolar(A, f, w, at, row, col, bipolars, k):
    """Rows of ``w`` where they belong; the slopes of what c, b, e (down) draw by the volts at c, b, e (across)::

    to_bc + by_bc    to_be - to_bc - by_bc      -to_be
       -by_bc           by_be + by_bc           -by_be
       -to_bc       to_bc - to_be - by_be    to_be + by_be
    """
    lanes, sign = w.shape[1], float(bipolars[k, 3])
    c, q, e = 6, 9, 12
    for i in range(lanes):
        w[e + 1, i] = w[3, i] - w[2, i] - w[4, i]
    for i in range(lanes):
        w[e + 2, i] = w[2, i] + w[4, i]
    for i in range(lanes):
        w[c, i] = w[3, i] + w[5, i]
    for i in range(lanes):
        w[c + 1, i] = w[2, i] - w[3, i] - w[5, i]
    for i in range(lanes):
        w[q + 1, i] = w[4, i] + w[5, i]
    for to, of in ((c + 2, 2), (q, 5), (q + 2, 4), (e, 3)):
        for i in range(lanes):
            w[to, i] = -w[of, i]
    for i in range(lanes):
        w[2, i] = -w[0, i] - w[1, i]
    for n in range(3):
        r = row[bipolars[k, n]]
        add(f, r, w, n, sign)
        for j in range(3):
            add(A, np.int64(at[r, col[bipolars[k, j]]]), w, c + 3 * n + j, 1.0)


@inlined
def _through_channel(w, x, d, s, u, v, numbers, h, n, sign, bends):
    """Rows of ``w`` for a channel: 4 its amps, slopes by 0 drain, 1 gate, 3 bulk; 5 vds, 6 how far its bulk is off."""
    vds, off, ubs, over, lift, lanes = 5, 6, 7, 8, 9, w.shape[1]
    beta, bend, body, surface = n + BETA, n + BEND, n + BODY, n + SURFACE
    for i in range(lanes):
        w[vds, i] = sign * (x[d, i] - x[s, i])
    for i in range(lanes):
        w[ubs, i] = u[h + 3, i] if w[vds, i] < 0.0 else u[h + 2, i]
    for i in range(lanes):
        w[off, i] = (v[h + 3, i] if w[vds, i] < 0.0 else v[h + 2, i]) - w[ubs, i]
    for i in range(lanes):
        w[over, i] = u[h, i] - numbers[n + ONSET, i]
    for i in range(lanes):
        w[lift, i] = 0.0
    if bends:
        for i in range(lanes):
            bent, w[lift, i] = threshold(0.0, numbers[body, i], numbers[surface, i], w[ubs, i])
            w[over, i] -= bent
    for i in range(lanes):
        w[4, i], w[1, i], w[0, i] = conduction(w[over, i], u[h + 1, i], numbers[beta, i], numbers[bend, i])
        w[3, i] = w[1, i] * w[lift, i]


@inlined
def _given_channel(w, u, v, h):
    """Where volts of a channel were held back, its current along the slopes to the volts given."""
    for i in range(w.shape[1]):
        w[4, i] += w[1, i] * (v[h, i] - u[h, i]) + w[0, i] * (v[h + 1, i] - u[h + 1, i]) + w[3, i] * w[6, i]


@inlined
def _turn_channel(w, sign):
    """Rows 0 to 3 of ``w`` by d, g, s and bulk; where drain and source have changed roles, vgs was really vgd."""
    for i in range(w.shape[1]):
        w[7, i] = w[0, i] + w[1, i] + w[3, i]
    for i in range(w.shape[1]):
        w[2, i] = -w[0, i] if w[5, i] < 0.0 else -w[7, i]
    for i in range(w.shape[1]):
        w[0, i] = w[7, i] if w[5, i] < 0.0 else w[0, i]
    for n in range(3):
        j, way = (1, 3, 4)[n], sign if n == 2 else 1.0
        for i in range(w.shape[1]):
            w[j, i] *= -way if w[5, i] < 0.0 else way


@inlined
def _converters(b, S, net, plan):
    """I(in) = I(sensed) x (duty / eta - 1) at each converter's input."""
    x, A, f = b.x, b.A, b.f
    for r in range(net.rows.shape[0]):
        line, own = net.rows[r], plan.size + r
        if line[6] < 0:
            continue
        sign, ra, rb = float(net.constraints[line[6], 5]), plan.row[line[0]], plan.row[line[1]]
        for i in range(x.shape[1]):
            vin, vout = x[line[4], i] - x[line[5], i], x[line[2], i] - x[line[3], i]
            ratio, by_in, by_out = converter_at(vin, vout, S, i, line[7])
            sensed = sign * x[own, i]
            for r_, way in ((ra, 1.0), (rb, -1.0)):
                f[r_, i] += way * sensed * (ratio - 1.0)
                A[plan.at[r_, own], i] += way * sign * (ratio - 1.0)
                A[plan.at[r_, plan.col[line[4]]], i] += way * sensed * by_in
                A[plan.at[r_, plan.col[line[5]]], i] -= way * sensed * by_in
                A[plan.at[r_, plan.col[line[2]]], i] += way * sensed * by_out
                A[plan.at[r_, plan.col[line[3]]], i] -= way * sensed * by_out
