"""The PN junction as ngspice reckons it in direct current (diode, base-emitter, bulk)."""

import math

from shouldread.parts.laws.kernel import kernel

BOLTZMANN = 1.38064852e-23  # J/K and C as ngspice 39 has them (CODATA 2014), so that both engines agree
CHARGE = 1.6021766208e-19
KELVIN = 300.15  # 27 °C
VT = BOLTZMANN * KELVIN / CHARGE
GMIN = 1e-12  # S across every junction, the default of SPICE
_FAR = 250.0  # largest exponent: keeps a wild step finite


@kernel
def forward(v, saturation, nvt):
    """Current and conductance of a junction without breakdown (A, S) at v volts."""
    if v >= -3.0 * nvt:
        z = v / nvt
        if z > _FAR:
            e = math.exp(_FAR)
            return saturation * (e * (1.0 + z - _FAR) - 1.0), saturation * e / nvt
        e = math.exp(z)
        return saturation * (e - 1.0), saturation * e / nvt
    a = 3.0 * nvt / (v * math.e)
    a = a * a * a
    return -saturation * (1.0 + a), saturation * 3.0 * a / v


@kernel
def breakdown_volts(saturation, bv, ibv, nbvt):
    """The volts at which the breakdown exponential starts, from BV at IBV (ngspice, diotemp.c)."""
    if math.isinf(bv):
        return bv
    if ibv < saturation * bv / VT:
        return bv
    x = bv - nbvt * math.log(1.0 + ibv / saturation)
    for _ in range(25):
        x = bv - nbvt * math.log(ibv / saturation + 1.0 - x / VT)
        back = saturation * (math.exp((bv - x) / nbvt) - 1.0 + x / VT)
        if abs(back - ibv) <= 1e-9 * ibv:
            break
    return x


@kernel
def diode(v, saturation, nvt, breakdown, nbvt):
    """Current and conductance of a diode with breakdown, gmin included."""
    if v >= -breakdown:
        i, g = forward(v, saturation, nvt)
    else:
        z = -(breakdown + v) / nbvt
        if z > _FAR:
            e = math.exp(_FAR)
            i, g = -saturation * e * (1.0 + z - _FAR), saturation * e / nbvt
        else:
            e = math.exp(z)
            i, g = -saturation * e, saturation * e / nbvt
    return i + GMIN * v, g + GMIN


@kernel
def critical(saturation, nvt):
    """The volts above which a junction's step is limited."""
    return nvt * math.log(nvt / (math.sqrt(2.0) * saturation))


@kernel
def limited(new, old, nvt, saturation):
    """A junction's next volts, its step held in bounds (Nagel 1975, pnjlim). Returns (volts, whether held)."""
    if abs(new - old) <= 2.0 * nvt:
        return new, False
    crit = critical(saturation, nvt)
    if new <= crit:
        return new, False
    if old > 0.0:
        a = 1.0 + (new - old) / nvt
        return (old + nvt * math.log(a), True) if a > 0.0 else (crit, True)
    return (nvt * math.log(new / nvt), True) if new > 0.0 else (crit, True)
