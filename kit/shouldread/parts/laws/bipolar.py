"""The Gummel-Poon transistor in direct current (SPICE3 theory of operation; ngspice, bjtload.c)."""

import math

from shouldread.parts.laws.junction import GMIN, VT, forward
from shouldread.parts.laws.kernel import kernel

# order of the numbers of a transistor in its slots; BCAREA is the area of its base-collector junction
IS, BF, BR, NF, NR, VAF, VAR, IKF, IKR, ISE, NE, ISC, NC, AREA, BCAREA = range(15)


@kernel
def bipolar(vbe, vbc, S, i, o):
    """Collector and base current and their slopes at vbe, vbc (signs of an NPN); numbers from S[i, o].

    Returns ic, ib, dic/dvbe, dic/dvbc, dib/dvbe, dib/dvbc. gmin stands across both junctions.
    """
    area = S[i, o + AREA]
    cbe, gbe = forward(vbe, S[i, o + IS] * area, S[i, o + NF] * VT)
    cbc, gbc = forward(vbc, S[i, o + IS] * S[i, o + BCAREA], S[i, o + NR] * VT)
    cben, gben, cbcn, gbcn = 0.0, 0.0, 0.0, 0.0
    if S[i, o + ISE] > 0.0:
        cben, gben = forward(vbe, S[i, o + ISE] * area, S[i, o + NE] * VT)
    if S[i, o + ISC] > 0.0:
        cbcn, gbcn = forward(vbc, S[i, o + ISC] * area, S[i, o + NC] * VT)
    inv_vaf, inv_var = 1.0 / S[i, o + VAF], 1.0 / S[i, o + VAR]  # 0 for infinite volts
    oik, oikr = 1.0 / (S[i, o + IKF] * area), 1.0 / (S[i, o + IKR] * area)
    q1 = 1.0 / (1.0 - vbc * inv_vaf - vbe * inv_var)
    if oik == 0.0 and oikr == 0.0:
        qb = q1
        dqe, dqc = q1 * qb * inv_var, q1 * qb * inv_vaf
    else:
        arg = max(0.0, 1.0 + 4.0 * (oik * cbe + oikr * cbc))
        root = math.sqrt(arg) if arg != 0.0 else 1.0
        qb = q1 * (1.0 + root) / 2.0
        dqe = q1 * (qb * inv_var + oik * gbe / root)
        dqc = q1 * (qb * inv_vaf + oikr * gbc / root)
    carried, beta, back = cbe - cbc, 1.0 / S[i, o + BF], 1.0 / S[i, o + BR]
    ic = carried / qb - cbc * back - cbcn - GMIN * vbc
    ib = cbe * beta + cben + cbc * back + cbcn + GMIN * (vbe + vbc)
    to_be, to_bc = (gbe - carried * dqe / qb) / qb, (gbc + carried * dqc / qb) / qb
    return (
        ic,
        ib,
        to_be,
        -to_bc - gbc * back - gbcn - GMIN,
        gbe * beta + gben + GMIN,
        gbc * back + gbcn + GMIN,
    )
