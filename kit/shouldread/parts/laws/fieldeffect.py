"""The level 1 field-effect transistor in direct current (Shichman and Hodges 1968; ngspice, mos1load.c)."""

import math

from shouldread.parts.laws.junction import GMIN, VT
from shouldread.parts.laws.kernel import kernel

# order of the numbers of a transistor in its slots
VTO, KP, LAMBDA, GAMMA, PHI, IS, WIDTH, LENGTH, COUNT = range(9)


@kernel
def channel(vgs, vds, vbs, p, sign, out):
    """Drain current and its slopes for vds >= 0 (signs of an N channel).

    ``out``: id, did/dvgs, did/dvds, did/dvbs.
    """
    beta = p[KP] * p[WIDTH] / p[LENGTH] * p[COUNT]
    root = math.sqrt(p[PHI])
    if vbs <= 0.0:
        sarg = math.sqrt(p[PHI] - vbs)
    else:
        sarg = max(0.0, root - vbs / (2.0 * root))
    von = sign * p[VTO] - p[GAMMA] * root + p[GAMMA] * sarg
    slope = p[GAMMA] / (2.0 * sarg) if sarg > 0.0 else 0.0
    over = vgs - von
    if over <= 0.0:
        out[0] = out[1] = out[2] = out[3] = 0.0
        return
    bent = beta * (1.0 + p[LAMBDA] * vds)
    if over <= vds:
        out[0] = 0.5 * bent * over * over
        out[1] = bent * over
        out[2] = 0.5 * p[LAMBDA] * beta * over * over
    else:
        out[0] = bent * vds * (over - 0.5 * vds)
        out[1] = bent * vds
        out[2] = bent * (over - vds) + p[LAMBDA] * beta * vds * (over - 0.5 * vds)
    out[3] = out[1] * slope


@kernel
def bulk(v, saturation):
    """Current and conductance of a bulk junction, gmin included."""
    if v <= -3.0 * VT:
        return -saturation + GMIN * v, GMIN
    z = min(v / VT, 200.0)
    e = math.exp(z)
    return saturation * (e - 1.0) + GMIN * v, saturation * e / VT + GMIN
