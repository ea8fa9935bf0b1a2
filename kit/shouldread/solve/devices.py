"""One device at its terminals' volts, linearised where its step is held back (numba).

Each function takes the numbers of the device from ``S[i, o]`` and on, and returns currents at the volts given, their
slopes, the volts at which the law was evaluated, and whether they were held back.
"""

from shouldread.parts.laws.bipolar import bipolar
from shouldread.parts.laws.fieldeffect import bulk, channel
from shouldread.parts.laws.junction import VT, breakdown_volts, diode, limited
from shouldread.parts.laws.kernel import kernel

AS_IS, LIMITED, FROZEN = 0, 1, 2  # a law is taken at the volts given, held back from them, or where it last was
GATE_STEP, DRAIN_STEP = 1.0, 2.0  # V: how far a channel's volts may move in one step


@kernel
def breakdown_at(S, i, o):
    """Where a diode's breakdown exponential starts; numbers IS N BV IBV NBV AREA."""
    return breakdown_volts(S[i, o] * S[i, o + 5], S[i, o + 2], S[i, o + 3] * S[i, o + 5], S[i, o + 4] * VT)


@kernel
def diode_at(v, old, S, i, o, bv, limit):
    """Current and slope of a diode that breaks down at ``bv``."""
    saturation, nvt, nbvt = S[i, o] * S[i, o + 5], S[i, o + 1] * VT, S[i, o + 4] * VT
    use, cut = v, False
    if limit == FROZEN:
        use, cut = old, v != old
    elif limit == LIMITED:
        if v < min(0.0, -bv + 10.0 * nbvt):
            mirrored, cut = limited(-(v + bv), -(old + bv), nbvt, saturation)
            use = -(mirrored + bv)
        else:
            use, cut = limited(v, old, nvt, saturation)
    current, g = diode(use, saturation, nvt, bv, nbvt)
    return current + g * (v - use), g, use, cut


@kernel
def bipolar_at(vbe, vbc, old_be, old_bc, S, i, o, limit):
    """Collector and base current and their four slopes."""
    ube, ubc, cut = vbe, vbc, False
    if limit == FROZEN:
        ube, ubc, cut = old_be, old_bc, vbe != old_be or vbc != old_bc
    elif limit == LIMITED:
        saturation = S[i, o] * S[i, o + 13]
        ube, cut_e = limited(vbe, old_be, S[i, o + 3] * VT, saturation)
        ubc, cut_c = limited(vbc, old_bc, S[i, o + 4] * VT, saturation)
        cut = cut_e or cut_c
    ic, ib, gce, gcc, gbe, gbc = bipolar(ube, ubc, S, i, o)
    ic += gce * (vbe - ube) + gcc * (vbc - ubc)
    ib += gbe * (vbe - ube) + gbc * (vbc - ubc)
    return ic, ib, gce, gcc, gbe, gbc, ube, ubc, cut


@kernel
def bulk_at(v, old, saturation, limit):
    """Current and slope of a bulk junction."""
    use, cut = v, False
    if limit == FROZEN:
        use, cut = old, v != old
    elif limit == LIMITED:
        use, cut = limited(v, old, VT, max(saturation, 1e-30))
    current, g = bulk(use, saturation)
    return current + g * (v - use), g, use, cut


@kernel
def _near(v, old, most):
    """v, at most so far from where it was."""
    return v if abs(v - old) <= most else old + (most if v > old else -most)


@kernel
def channel_at(vgs, vds, vbs, old_gs, old_ds, ubs, S, i, o, sign, limit):
    """Drain current and its three slopes, volts as of an N channel with vds >= 0; ``ubs``: vbs as held back."""
    ugs, uds = vgs, vds
    if limit == FROZEN:
        ugs, uds = old_gs, old_ds
    elif limit == LIMITED:
        ugs, uds = _near(vgs, old_gs, GATE_STEP), max(_near(vds, old_ds, DRAIN_STEP), 0.0)
    current, gm, gds, gmb = channel(ugs, uds, ubs, S, i, o, sign)
    current += gm * (vgs - ugs) + gds * (vds - uds) + gmb * (vbs - ubs)
    return current, gm, gds, gmb, ugs, uds, ugs != vgs or uds != vds


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
