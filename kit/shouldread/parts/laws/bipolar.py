"""The Gummel-Poon transistor in direct current (SPICE3 theory of operation; ngspice, bjtload.c)."""

import math

from shouldread.parts.laws.junction import GMIN, VT, forward
from shouldread.parts.laws.kernel import kernel

# order of the numbers of a transistor in its slots; BCAREA is the area of its base-collector junction
IS, BF, BR, NF, NR, VAF, VAR, IKF, IKR, ISE, NE, ISC, NC, AREA, BCAREA = range(15)


@kernel
def knee(cbe, cbc, oik, oikr):
    """What high injection makes of the base charge: 1 without it; ``oik``, ``oikr`` over the knee currents."""
    arg = max(0.0, 1.0 + 4.0 * (oik * cbe + oikr * cbc))
    return math.sqrt(arg if arg != 0.0 else 1.0)


@kernel
def transport_slope(g, over_qb, early, inverse, oi, root):
    """Slope of the current from collector to emitter by one junction's volts, of conductance ``g``.

    ``early``: that current x q1, negative for the junction that carries it backwards; ``inverse``, ``oi``: of the Early
    volts and knee current that go with the junction.
    """
    return g * over_qb - early * (inverse + oi * g * over_qb / root)


@kernel
def bipolar(vbe, vbc, S, i, o):
    """Collector and base current and their slopes at vbe, vbc (signs of an NPN); numbers from S[i, o].

    Returns ic, ib, dic/dvbe, dic/dvbc, dib/dvbe, dib/dvbc. gmin stands across both junctions.
    """
    area = S[i, o + AREA]
    cbe, gbe = forward(vbe, S[i, o + IS] * area, S[i, o + NF] * VT)
    cbc, gbc = forward(vbc, S[i, o + IS] * S[i, o + BCAREA], S[i, o + NR] * VT)
    cben, gben = forward(vbe, S[i, o + ISE] * area, S[i, o + NE] * VT)
    cbcn, gbcn = forward(vbc, S[i, o + ISC] * area, S[i, o + NC] * VT)
    inv_vaf, inv_var = 1.0 / S[i, o + VAF], 1.0 / S[i, o + VAR]  # 0 for infinite volts
    oik, oikr = 1.0 / (S[i, o + IKF] * area), 1.0 / (S[i, o + IKR] * area)
    over_q1, root = 1.0 - vbc * inv_vaf - vbe * inv_var, knee(cbe, cbc, oik, oikr)
    over_qb = 2.0 * over_q1 / (1.0 + root)
    through, beta, back = (cbe - cbc) * over_qb, 1.0 / S[i, o + BF], 1.0 / S[i, o + BR]
    early = through / over_q1
    to_be = transport_slope(gbe, over_qb, early, inv_var, oik, root)
    to_bc = transport_slope(gbc, over_qb, -early, inv_vaf, oikr, root)
    by_be, by_bc = gbe * beta + gben + GMIN, gbc * back + gbcn + GMIN
    ic = through - cbc * back - cbcn - GMIN * vbc
    ib = cbe * beta + cben + cbc * back + cbcn + GMIN * (vbe + vbc)
    return ic, ib, to_be, -to_bc - by_bc, by_be, by_bc
