"""Kirchhoff's current law at every node and its slopes, for one lane (numba)."""

import math

import numpy as np

from shouldread.parts.laws.bipolar import bipolar
from shouldread.parts.laws.fieldeffect import bulk, channel
from shouldread.parts.laws.junction import GMIN, VT, breakdown_volts, critical, diode, limited
from shouldread.parts.laws.kernel import kernel


@kernel
def _two(A, f, a, b, i, g):
    """A current i from a to b that rises by g per volt between them."""
    f[a] += i
    f[b] -= i
    A[a, a] += g
    A[b, b] += g
    A[a, b] -= g
    A[b, a] -= g


@kernel
def _slope(A, row, col_p, col_n, g):
    A[row, col_p] += g
    A[row, col_n] -= g


@kernel
def linear(x, s, bits, resistors, currents, gains, switches, A, f):
    """Resistors, currents, transconductances and switches (in their present bits)."""
    for k in range(resistors.shape[0]):
        a, b = resistors[k, 0], resistors[k, 1]
        g = 1.0 / s[resistors[k, 2]]
        _two(A, f, a, b, g * (x[a] - x[b]), g)
    for k in range(currents.shape[0]):
        i = s[currents[k, 2]]
        f[currents[k, 0]] += i
        f[currents[k, 1]] -= i
    for k in range(gains.shape[0]):
        a, b, p, n = gains[k, 0], gains[k, 1], gains[k, 2], gains[k, 3]
        g = s[gains[k, 4]]
        i = g * (x[p] - x[n])
        f[a] += i
        f[b] -= i
        _slope(A, a, p, n, g)
        _slope(A, b, p, n, -g)
    for k in range(switches.shape[0]):
        a, b, base = switches[k, 0], switches[k, 1], switches[k, 4]
        g = 1.0 / s[base + 2] if bits[k] else 1.0 / s[base + 3]
        _two(A, f, a, b, g * (x[a] - x[b]), g)


@kernel
def devices(x, s, held, limit, diodes, bipolars, fields, A, f, work):
    """Diodes and transistors, linearised at their held-back junction volts. Returns whether any was held back."""
    far = False
    at = 0
    for k in range(diodes.shape[0]):
        a, b, base = diodes[k, 0], diodes[k, 1], diodes[k, 2]
        area = s[base + 5]
        saturation, nvt, nbvt = s[base] * area, s[base + 1] * VT, s[base + 4] * VT
        bv = breakdown_volts(saturation, s[base + 2], s[base + 3] * area, nbvt)
        v = x[a] - x[b]
        use = v
        if limit:
            old = held[at]
            if v < min(0.0, -bv + 10.0 * nbvt):
                mirrored, cut = limited(-(v + bv), -(old + bv), nbvt, critical(saturation, nbvt))
                use = -(mirrored + bv)
            else:
                use, cut = limited(v, old, nvt, critical(saturation, nvt))
            far = far or cut
        held[at] = use
        at += 1
        i, g = diode(use, saturation, nvt, bv, nbvt)
        _two(A, f, a, b, i + g * (v - use), g)
    for k in range(bipolars.shape[0]):
        c, b, e, sign, base = bipolars[k, 0], bipolars[k, 1], bipolars[k, 2], float(bipolars[k, 3]), bipolars[k, 4]
        vbe, vbc = sign * (x[b] - x[e]), sign * (x[b] - x[c])
        ube, ubc = vbe, vbc
        if limit:
            saturation = s[base] * s[base + 13]
            ube, cut = limited(vbe, held[at], s[base + 3] * VT, critical(saturation, s[base + 3] * VT))
            ubc, cut2 = limited(vbc, held[at + 1], s[base + 4] * VT, critical(saturation, s[base + 4] * VT))
            far = far or cut or cut2
        held[at], held[at + 1] = ube, ubc
        at += 2
        bipolar(ube, ubc, s[base : base + 15], work)
        ic = work[0] + work[2] * (vbe - ube) + work[3] * (vbc - ubc)
        ib = work[1] + work[4] * (vbe - ube) + work[5] * (vbc - ubc)
        f[c] += sign * ic
        f[b] += sign * ib
        f[e] -= sign * (ic + ib)
        _slope(A, c, b, e, work[2])
        _slope(A, c, b, c, work[3])
        _slope(A, b, b, e, work[4])
        _slope(A, b, b, c, work[5])
        _slope(A, e, b, e, -work[2] - work[4])
        _slope(A, e, b, c, -work[3] - work[5])
        under = c if sign > 0 else b  # the default substrate: collector of an NPN, base of a PNP, to ground
        _two(A, f, under, 0, GMIN * x[under], GMIN)
    for k in range(fields.shape[0]):
        d, g_, so, bk, sign, base = (
            fields[k, 0],
            fields[k, 1],
            fields[k, 2],
            fields[k, 3],
            float(fields[k, 4]),
            fields[k, 5],
        )
        vds = sign * (x[d] - x[so])
        if vds < 0.0:
            d, so = so, d
            vds = -vds
        vgs, vbs, vbd = sign * (x[g_] - x[so]), sign * (x[bk] - x[so]), sign * (x[bk] - x[d])
        ugs, uds, ubs = vgs, vds, vbs
        if limit:
            ugs = held[at] + min(max(vgs - held[at], -1.0), 1.0) if abs(vgs - held[at]) > 1.0 else vgs
            uds = held[at + 1] + min(max(vds - held[at + 1], -2.0), 2.0) if abs(vds - held[at + 1]) > 2.0 else vds
            uds = max(uds, 0.0)
            crit = critical(max(s[base + 5] * s[base + 8], 1e-30), VT)
            ubs, cut = limited(vbs, held[at + 2], VT, crit)
            ubd, cut2 = limited(vbd, held[at + 3], VT, crit)
            far = far or cut or cut2 or ugs != vgs or uds != vds
        else:
            ubd = vbd
        held[at], held[at + 1], held[at + 2], held[at + 3] = ugs, uds, ubs, ubd
        at += 4
        channel(ugs, uds, min(ubs, 0.7), s[base : base + 9], sign, work)
        i = work[0] + work[1] * (vgs - ugs) + work[2] * (vds - uds) + work[3] * (vbs - ubs)
        f[d] += sign * i
        f[so] -= sign * i
        _slope(A, d, g_, so, work[1])
        _slope(A, d, d, so, work[2])
        _slope(A, d, bk, so, work[3])
        _slope(A, so, g_, so, -work[1])
        _slope(A, so, d, so, -work[2])
        _slope(A, so, bk, so, -work[3])
        saturation = s[base + 5] * s[base + 8]
        for other, v, u in ((so, vbs, ubs), (d, vbd, ubd)):
            i, g = bulk(u, saturation)
            _two(A, f, bk, other, sign * (i + g * (v - u)), g)
    return far


@kernel
def constrained(x, s, constraints, rows, A, f):
    """Ideal sources: a child's balance goes to its parent, its own row becomes the source's equation.

    The averaged converter's input current needs the balance of its sense source's child, so it is added on the way.
    """
    n = A.shape[0]
    for k in range(constraints.shape[0]):
        child, parent, cp, cn, slot = (
            constraints[k, 0],
            constraints[k, 1],
            constraints[k, 2],
            constraints[k, 3],
            constraints[k, 4],
        )
        for r in range(rows.shape[0]):
            if rows[r, 6] == k:
                _row(x, s, rows, r, float(constraints[k, 5]), child, A, f)
        sign = float(constraints[k, 5])
        for j in range(n):
            A[parent, j] += A[child, j]
            A[child, j] = 0.0
        f[parent] += f[child]
        A[child, child] += 1.0
        A[child, parent] -= 1.0
        if cp < 0:
            f[child] = x[child] - x[parent] - sign * s[slot]
        else:
            f[child] = x[child] - x[parent] - sign * s[slot] * (x[cp] - x[cn])
            A[child, cp] -= sign * s[slot]
            A[child, cn] += sign * s[slot]


@kernel
def _row(x, s, rows, r, sign, child, A, f):
    """The averaged converter: I(in) = I(sense) x (duty / eta - 1), duty / eta = V(out) / (eta x V(in)), 0 to 1.

    I(sense) is what Kirchhoff's law leaves at the sense source's child.
    """
    a, b, op, on, ip, im, base = rows[r, 0], rows[r, 1], rows[r, 2], rows[r, 3], rows[r, 4], rows[r, 5], rows[r, 7]
    eta, least = s[base], s[base + 1]
    vin, vout = x[ip] - x[im], x[op] - x[on]
    ratio, by_out, by_in = 0.0, 0.0, 0.0
    if vout > 0.0:
        if vout / eta >= max(vin, least):
            ratio = 1.0
        else:
            den = eta * max(vin, least)
            ratio, by_out = vout / den, 1.0 / den
            by_in = -ratio / vin if vin > least else 0.0
    sense = -sign * f[child]
    i = sense * (ratio - 1.0)
    f[a] += i
    f[b] -= i
    for j in range(A.shape[0]):
        g = -sign * A[child, j] * (ratio - 1.0)
        if a != child:
            A[a, j] += g
        if b != child:
            A[b, j] -= g
    _slope(A, a, op, on, sense * by_out)
    _slope(A, b, op, on, -sense * by_out)
    _slope(A, a, ip, im, sense * by_in)
    _slope(A, b, ip, im, -sense * by_in)


@kernel
def sane(x):
    """No nan and nothing absurd."""
    for k in range(x.size):
        if not math.isfinite(x[k]) or abs(x[k]) > 1e12:
            return False
    return True


@kernel
def width(diodes, bipolars, fields):
    """How many held-back junction volts a lane needs."""
    return diodes.shape[0] + 2 * bipolars.shape[0] + 4 * fields.shape[0]


@kernel
def spread_out(x, bits, switches, s):
    """Index of the first switch whose control volts contradict its bit, or -1."""
    for k in range(switches.shape[0]):
        v, base = x[switches[k, 2]] - x[switches[k, 3]], switches[k, 4]
        if (bits[k] and v < s[base] - s[base + 1]) or (not bits[k] and v > s[base] + s[base + 1]):
            return k
    return -1


@kernel
def empty(n):
    """A zeroed matrix and balance."""
    return np.zeros((n, n)), np.zeros(n)
