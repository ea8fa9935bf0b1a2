"""The level 1 field-effect transistor in direct current (Shichman and Hodges 1968; ngspice, mos1load.c)."""

import math

from shouldread.parts.laws.junction import GMIN, VT
from shouldread.parts.laws.kernel import kernel

# order of the numbers of a transistor in its slots
VTO, KP, LAMBDA, GAMMA, PHI, IS, WIDTH, LENGTH, COUNT = range(9)


@kernel
def channel(vgs, vds, vbs, S, i, o, sign):
    """Drain current and its slopes by vgs, vds, vbs for vds >= 0 (signs of an N channel); numbers from S[i, o]."""
    beta = S[i, o + KP] * S[i, o + WIDTH] / S[i, o + LENGTH] * S[i, o + COUNT]
    gamma, phi, bend = S[i, o + GAMMA], S[i, o + PHI], S[i, o + LAMBDA]
    von, slope = sign * S[i, o + VTO], 0.0
    if gamma != 0.0:
        root = math.sqrt(phi)
        sarg = math.sqrt(phi - vbs) if vbs <= 0.0 else max(0.0, root - vbs / (2.0 * root))
        von += gamma * (sarg - root)
        slope = gamma / (2.0 * max(sarg, root)) if sarg > 0.0 else 0.0  # a straight line once the bulk is forward
    over = vgs - von
    if over <= 0.0:
        return 0.0, 0.0, 0.0, 0.0
    bent = beta * (1.0 + bend * vds)
    if over <= vds:
        gm = bent * over
        return 0.5 * bent * over * over, gm, 0.5 * bend * beta * over * over, gm * slope
    gm = bent * vds
    rest = vds * (over - 0.5 * vds)
    return bent * rest, gm, bent * (over - vds) + bend * beta * rest, gm * slope


@kernel
def bulk(v, saturation):
    """Current and conductance of a bulk junction, gmin included."""
    if v <= -3.0 * VT:
        return -saturation + GMIN * v, GMIN
    z = min(v / VT, 200.0)
    e = math.exp(z)
    return saturation * (e - 1.0) + GMIN * v, saturation * e / VT + GMIN
