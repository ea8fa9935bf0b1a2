"""The Gummel-Poon transistor in direct current (SPICE3 theory of operation; ngspice, bjtload.c)."""

import math

from shouldread.parts.laws.junction import GMIN, VT, forward
from shouldread.parts.laws.kernel import kernel

# order of the numbers of a transistor in its slots
IS, BF, BR, NF, NR, VAF, VAR, IKF, IKR, ISE, NE, ISC, NC, AREA, BCAREA = range(15)


@kernel
def bipolar(vbe, vbc, p, out):
    """Collector and base current and their slopes at vbe, vbc (signs of an NPN).

    ``out``: ic, ib, dic/dvbe, dic/dvbc, dib/dvbe, dib/dvbc. gmin stands across both junctions.
    """
    area, bc_area = p[AREA], p[BCAREA]
    cbe, gbe = forward(vbe, p[IS] * area, p[NF] * VT)
    cbc, gbc = forward(vbc, p[IS] * bc_area, p[NR] * VT)
    cben, gben, cbcn, gbcn = 0.0, 0.0, 0.0, 0.0
    if p[ISE] > 0.0:
        cben, gben = forward(vbe, p[ISE] * area, p[NE] * VT)
    if p[ISC] > 0.0:
        cbcn, gbcn = forward(vbc, p[ISC] * area, p[NC] * VT)
    inv_vaf = 0.0 if math.isinf(p[VAF]) else 1.0 / p[VAF]
    inv_var = 0.0 if math.isinf(p[VAR]) else 1.0 / p[VAR]
    q1 = 1.0 / (1.0 - vbc * inv_vaf - vbe * inv_var)
    oik = 0.0 if math.isinf(p[IKF]) else 1.0 / (p[IKF] * area)
    oikr = 0.0 if math.isinf(p[IKR]) else 1.0 / (p[IKR] * area)
    if oik == 0.0 and oikr == 0.0:
        qb = q1
        dqe, dqc = q1 * qb * inv_var, q1 * qb * inv_vaf
    else:
        arg = max(0.0, 1.0 + 4.0 * (oik * cbe + oikr * cbc))
        root = math.sqrt(arg) if arg != 0.0 else 1.0
        qb = q1 * (1.0 + root) / 2.0
        dqe = q1 * (qb * inv_var + oik * gbe / root)
        dqc = q1 * (qb * inv_vaf + oikr * gbc / root)
    carried = cbe - cbc
    out[0] = carried / qb - cbc / p[BR] - cbcn - GMIN * vbc
    out[1] = cbe / p[BF] + cben + cbc / p[BR] + cbcn + GMIN * (vbe + vbc)
    out[2] = (gbe - carried * dqe / qb) / qb
    out[3] = -(gbc + carried * dqc / qb) / qb - gbc / p[BR] - gbcn - GMIN
    out[4] = gbe / p[BF] + gben + GMIN
    out[5] = gbc / p[BR] + gbcn + GMIN
