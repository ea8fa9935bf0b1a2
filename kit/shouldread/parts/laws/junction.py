"""The PN junction as ngspice reckons it in direct current (diode, base-emitter, bulk)."""

import math

from shouldread.parts.laws.exponential import exp
from shouldread.parts.laws.kernel import kernel

BOLTZMANN = 1.38064852e-23  # J/K and C as ngspice 39 has them (CODATA 2014), so that both engines agree
CHARGE = 1.6021766208e-19
KELVIN = 300.15  # 27 °C
VT = BOLTZMANN * KELVIN / CHARGE
GMIN = 1e-12  # S across every junction, the default of SPICE
_FAR = 250.0  # largest exponent: keeps a wild step finite


@kernel
def exponential(z):
    """A junction's current over its saturation current, and the slope of that, at z = volts / (N x VT).

    Far in reverse SPICE has a cubic in 1/z instead, and beyond ``_FAR`` a straight line. Both sides are reckoned and
    one is taken, so that a loop over lanes compiles to vector instructions.
    """
    e = exp(min(max(z, -3.0), _FAR))
    rise = e * (1.0 + max(z - _FAR, 0.0)) - 1.0
    a = 3.0 / (z * math.e)
    cube = a * a * a
    back = z < -3.0
    return (-1.0 - cube if back else rise), (3.0 * cube / z if back else e)


@kernel
def forward(v, saturation, nvt):
    """Current and conductance of a junction without breakdown (A, S) at v volts."""
    rise, slope = exponential(v / nvt)
    return saturation * rise, saturation * slope / nvt


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
    broken = v < -breakdown
    per = nbvt if broken else nvt
    rise, slope = exponential((-(breakdown + v) if broken else v) / per)
    return saturation * (-(rise + 1.0) if broken else rise) + GMIN * v, saturation * slope / per + GMIN


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
