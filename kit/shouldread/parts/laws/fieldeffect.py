"""The level 1 field-effect transistor in direct current (Shichman and Hodges 1968; ngspice, mos1load.c)."""

import math

from shouldread.parts.laws.exponential import exp
from shouldread.parts.laws.junction import GMIN, VT
from shouldread.parts.laws.kernel import kernel

# order of the numbers of a transistor in its slots
VTO, KP, LAMBDA, GAMMA, PHI, IS, WIDTH, LENGTH, COUNT = range(9)


@kernel
def threshold(vto, gamma, phi, vbs):
    """The gate volts at which a channel begins, and by how much the bulk's volts lower them."""
    root = math.sqrt(phi)
    bent, straight = math.sqrt(phi - min(vbs, 0.0)), max(0.0, root - vbs / (2.0 * root))
    sarg = bent if vbs <= 0.0 else straight  # a straight line once the bulk is forward
    slope = gamma / (2.0 * max(sarg, root)) if sarg > 0.0 else 0.0
    return vto + gamma * (sarg - root), slope


@kernel
def conduction(over, vds, beta, bend):
    """Drain current and its slopes by vgs and vds, ``over`` volts above the threshold; none of them below it."""
    drive = max(over, 0.0)
    low = min(drive, vds)  # the channel is pinched off where the drain is higher
    bent, rest = beta * (1.0 + bend * vds), low * (drive - 0.5 * low)
    return bent * rest, bent * low, bent * (drive - low) + bend * beta * rest


@kernel
def channel(vgs, vds, vbs, S, i, o, sign):
    """Drain current and its slopes by vgs, vds, vbs for vds >= 0 (signs of an N channel); numbers from S[i, o]."""
    beta = S[i, o + KP] * S[i, o + WIDTH] / S[i, o + LENGTH] * S[i, o + COUNT]
    von, slope = sign * S[i, o + VTO], 0.0
    if S[i, o + GAMMA] != 0.0:
        von, slope = threshold(von, S[i, o + GAMMA], S[i, o + PHI], vbs)
    current, gm, gds = conduction(vgs - von, vds, beta, S[i, o + LAMBDA])
    return current, gm, gds, gm * slope


@kernel
def bulk(v, saturation):
    """Current and conductance of a bulk junction (A, S) at v volts, gmin included (Shockley 1949).

    ngspice cuts the exponential off at 3 thermal volts in reverse. That is a jump of a twentieth of the saturation
    current, and where less than that flows no search comes to rest on it.
    """
    e = exp(min(max(v / VT, -200.0), 200.0))
    return saturation * (e - 1.0) + GMIN * v, saturation * e / VT + GMIN
