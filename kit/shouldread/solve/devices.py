"""One device at its terminals' volts (numba). Each function takes the numbers of the device from ``S[i, o]`` and on."""

from shouldread.parts.laws.bipolar import bipolar
from shouldread.parts.laws.fieldeffect import bulk, channel
from shouldread.parts.laws.junction import VT, breakdown_volts, diode
from shouldread.parts.laws.kernel import kernel

AS_IS, LIMITED, FROZEN = 0, 1, 2  # a law is taken at the volts given, held back from them, or where it last was


@kernel
def breakdown_at(S, i, o):
    """Where a diode's breakdown exponential starts; numbers IS N BV IBV NBV AREA."""
    return breakdown_volts(S[i, o] * S[i, o + 5], S[i, o + 2], S[i, o + 3] * S[i, o + 5], S[i, o + 4] * VT)


@kernel
def converter_at(vin, vout, S, i, o):
    """Duty over efficiency of an averaged converter, and its slopes by input and output volts; numbers eta, least."""
    eta, least = S[i, o], S[i, o + 1]
    if vout <= 0.0:
        return 0.0, 0.0, 0.0
    if vout / eta >= max(vin, least):
        return 1.0, 0.0, 0.0
    ratio = vout / (eta * max(vin, least))
    return ratio, (-ratio / vin if vin > least else 0.0), ratio / vout


@kernel
def diode_amps(x, S, row, o):
    """Amps into the anode."""
    v = x[row[0]] - x[row[1]]
    return diode(v, S[0, o] * S[0, o + 5], S[0, o + 1] * VT, breakdown_at(S, 0, o), S[0, o + 4] * VT)[0]


@kernel
def bipolar_amps(x, S, row, o):
    """Amps into collector and base."""
    sign = float(row[3])
    told = bipolar(sign * (x[row[1]] - x[row[2]]), sign * (x[row[1]] - x[row[0]]), S, 0, o)
    return sign * told[0], sign * told[1]


@kernel
def field_amps(x, S, row, o):
    """Amps through the channel into the drain, and from the bulk to source and drain."""
    d, s, sign = row[0], row[2], float(row[4])
    turned = sign * (x[d] - x[s]) < 0.0
    low = d if turned else s
    vgs, vbs = sign * (x[row[1]] - x[low]), sign * (x[row[3]] - x[low])
    through = sign * channel(vgs, abs(x[d] - x[s]), vbs, S, 0, o, sign)[0]
    saturation = S[0, o + 5] * S[0, o + 8]
    to_s, to_d = bulk(sign * (x[row[3]] - x[s]), saturation)[0], bulk(sign * (x[row[3]] - x[d]), saturation)[0]
    return (-through if turned else through), sign * to_s, sign * to_d
