"""Diodes, transistors and converters of many lanes at once, entered along one plan (numba)."""

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.devices import bipolar_at, breakdown_at, bulk_at, channel_at, converter_at, diode_at


@kernel
def enter_devices(b, S, net, plan, limit):
    """Everything that is not linear, into ``A`` and ``f``; ``far``: whether a lane's step was held back."""
    b.far[:] = False
    _diodes(b, S, net, plan, limit)
    _bipolars(b, S, net, plan, limit)
    _bulks(b, S, net, plan, limit)
    _channels(b, S, net, plan, limit)
    _converters(b, S, net, plan)


@kernel
def enter_breakdowns(b, S, net):
    """Where each diode breaks down, once for the numbers of a block."""
    for k in range(net.diodes.shape[0]):
        for i in range(b.x.shape[1]):
            b.bv[k, i] = breakdown_at(S, i, net.diodes[k, 2])


@kernel
def _diodes(b, S, net, plan, limit):
    x, A, f, held = b.x, b.A, b.f, b.held
    for k in range(net.diodes.shape[0]):
        p, q, o = net.diodes[k, 0], net.diodes[k, 1], net.diodes[k, 2]
        rp, rq, cp, cq = plan.row[p], plan.row[q], plan.col[p], plan.col[q]
        pp, qq, pq, qp = plan.at[rp, cp], plan.at[rq, cq], plan.at[rp, cq], plan.at[rq, cp]
        for i in range(x.shape[1]):
            current, g, held[k, i], cut = diode_at(x[p, i] - x[q, i], held[k, i], S, i, o, b.bv[k, i], limit)
            b.far[i] |= cut
            f[rp, i] += current
            f[rq, i] -= current
            A[pp, i] += g
            A[qq, i] += g
            A[pq, i] -= g
            A[qp, i] -= g


@kernel
def _bipolars(b, S, net, plan, limit):
    x, A, f, held = b.x, b.A, b.f, b.held
    for k in range(net.bipolars.shape[0]):
        c, q, e, o = net.bipolars[k, 0], net.bipolars[k, 1], net.bipolars[k, 2], net.bipolars[k, 4]
        sign, h = float(net.bipolars[k, 3]), net.diodes.shape[0] + 2 * k
        rc, rb, re = plan.row[c], plan.row[q], plan.row[e]
        kc, kb, ke = plan.col[c], plan.col[q], plan.col[e]
        cc, cb, ce = plan.at[rc, kc], plan.at[rc, kb], plan.at[rc, ke]
        bc, bb, be = plan.at[rb, kc], plan.at[rb, kb], plan.at[rb, ke]
        ec, eb, ee = plan.at[re, kc], plan.at[re, kb], plan.at[re, ke]
        for i in range(x.shape[1]):
            vbe, vbc = sign * (x[q, i] - x[e, i]), sign * (x[q, i] - x[c, i])
            ic, ib, gce, gcc, gbe, gbc, held[h, i], held[h + 1, i], cut = bipolar_at(
                vbe, vbc, held[h, i], held[h + 1, i], S, i, o, limit
            )
            b.far[i] |= cut
            f[rc, i] += sign * ic
            f[rb, i] += sign * ib
            f[re, i] -= sign * (ic + ib)
            A[cb, i] += gce + gcc
            A[ce, i] -= gce
            A[cc, i] -= gcc
            A[bb, i] += gbe + gbc
            A[be, i] -= gbe
            A[bc, i] -= gbc
            A[eb, i] -= gce + gcc + gbe + gbc
            A[ee, i] += gce + gbe
            A[ec, i] += gcc + gbc


@kernel
def _bulks(b, S, net, plan, limit):
    """Junctions from the bulk to source and drain."""
    x, A, f, held = b.x, b.A, b.f, b.held
    first = net.diodes.shape[0] + 2 * net.bipolars.shape[0]
    for k in range(2 * net.fields.shape[0]):
        line, end = net.fields[k // 2], k % 2
        p, q, o, sign = line[3], line[2 if end == 0 else 0], line[5], float(line[4])
        h = first + 4 * (k // 2) + 2 + end
        rp, rq, cp, cq = plan.row[p], plan.row[q], plan.col[p], plan.col[q]
        pp, qq, pq, qp = plan.at[rp, cp], plan.at[rq, cq], plan.at[rp, cq], plan.at[rq, cp]
        for i in range(x.shape[1]):
            saturation = S[i, o + 5] * S[i, o + 8]
            current, g, held[h, i], cut = bulk_at(sign * (x[p, i] - x[q, i]), held[h, i], saturation, limit)
            b.far[i] |= cut
            f[rp, i] += sign * current
            f[rq, i] -= sign * current
            A[pp, i] += g
            A[qq, i] += g
            A[pq, i] -= g
            A[qp, i] -= g


@kernel
def _channels(b, S, net, plan, limit):
    """Channels; where drain and source have changed roles, what was by vgs is by vgd."""
    x, A, f, held = b.x, b.A, b.f, b.held
    first = net.diodes.shape[0] + 2 * net.bipolars.shape[0]
    for k in range(net.fields.shape[0]):
        d, g, s, u, o = net.fields[k, 0], net.fields[k, 1], net.fields[k, 2], net.fields[k, 3], net.fields[k, 5]
        sign, h = float(net.fields[k, 4]), first + 4 * k
        rd, rs = plan.row[d], plan.row[s]
        kd, kg, ks, ku = plan.col[d], plan.col[g], plan.col[s], plan.col[u]
        dd, dg, ds, du = plan.at[rd, kd], plan.at[rd, kg], plan.at[rd, ks], plan.at[rd, ku]
        sd, sg, ss, su = plan.at[rs, kd], plan.at[rs, kg], plan.at[rs, ks], plan.at[rs, ku]
        for i in range(x.shape[1]):
            vds = sign * (x[d, i] - x[s, i])
            turned = vds < 0.0
            low, ubs = (x[d, i], held[h + 3, i]) if turned else (x[s, i], held[h + 2, i])
            vgs, vbs = sign * (x[g, i] - low), sign * (x[u, i] - low)
            current, gm, gds, gmb, held[h, i], held[h + 1, i], cut = channel_at(
                vgs, abs(vds), vbs, held[h, i], held[h + 1, i], ubs, S, i, o, sign, limit
            )
            b.far[i] |= cut
            by_s, by_d, way = -(gm + gds + gmb), gds, sign
            if turned:
                way, gm, gmb = -sign, -gm, -gmb
                by_d, by_s = -by_s, -gds
            f[rd, i] += way * current
            f[rs, i] -= way * current
            A[dd, i] += by_d
            A[dg, i] += gm
            A[ds, i] += by_s
            A[du, i] += gmb
            A[sd, i] -= by_d
            A[sg, i] -= gm
            A[ss, i] -= by_s
            A[su, i] -= gmb


@kernel
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
