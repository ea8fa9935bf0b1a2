"""Volts and currents of every junction and channel of a block, one row of lanes at a time (numba).

Loops write one row or two and read few: then the compiler can show that none overlap, and takes several lanes at once.

Rows of ``held``, ``volts``: each diode; base-emitter and base-collector of each bipolar; gate and drain of each
channel and its bulk to source and drain. ``saturation``, ``nvt``, ``amps`` and ``slopes`` have, after those, the
leakage of each bipolar's two junctions.
"""

from shouldread.parts.laws.bipolar import AREA, BCAREA, BF, BR, IKF, IKR, IS, ISC, ISE, NC, NE, NF, NR, VAF, VAR
from shouldread.parts.laws.fieldeffect import (
    COUNT,
    GAMMA,
    KP,
    LAMBDA,
    LENGTH,
    PHI,
    VTO,
    WIDTH,
    bulk,
)
from shouldread.parts.laws.fieldeffect import IS as BULK_IS
from shouldread.parts.laws.junction import GMIN, VT, diode, forward, limited
from shouldread.parts.laws.kernel import inlined, kernel
from shouldread.solve.devices import FROZEN, LIMITED, breakdown_at

GATE_STEP, DRAIN_STEP = 1.0, 2.0  # V: how far a channel's volts may move in one step
INV_VAF, INV_VAR, OIK, OIKR, OVER_BF, OVER_BR = range(6)  # rows of ``gummel``, for each bipolar
BETA, BEND, BODY, SURFACE, ONSET = range(5)  # rows of ``level1``, for each channel


@kernel
def enter_numbers(b, S, net):
    """What laws need of the numbers of a block, where diodes break down and all else; once for all its steps."""
    first, lanes = net.diodes.shape[0], b.x.shape[1]
    for k in range(first):
        o = net.diodes[k, 2]
        for i in range(lanes):
            b.saturation[k, i] = S[i, o] * S[i, o + 5]
            b.nvt[k, i], b.nbvt[k, i] = S[i, o + 1] * VT, S[i, o + 4] * VT
            b.bv[k, i] = breakdown_at(S, i, o)
    fields = first + 2 * net.bipolars.shape[0]
    for k in range(net.bipolars.shape[0]):
        _bipolar_numbers(b, S, net.bipolars[k, 4], first + 2 * k, fields + 4 * net.fields.shape[0] + 2 * k, 6 * k)
    for k in range(net.fields.shape[0]):
        h, n, o, sign = fields + 4 * k, 5 * k, net.fields[k, 5], float(net.fields[k, 4])
        for i in range(lanes):
            b.saturation[h + 2, i] = b.saturation[h + 3, i] = S[i, o + BULK_IS] * S[i, o + COUNT]
            b.nvt[h, i], b.nvt[h + 1, i] = GATE_STEP, DRAIN_STEP
            b.nvt[h + 2, i] = b.nvt[h + 3, i] = VT
            b.level1[n + BETA, i] = S[i, o + KP] * S[i, o + WIDTH] / S[i, o + LENGTH] * S[i, o + COUNT]
            b.level1[n + BEND, i], b.level1[n + BODY, i] = S[i, o + LAMBDA], S[i, o + GAMMA]
            b.level1[n + SURFACE, i], b.level1[n + ONSET, i] = S[i, o + PHI], sign * S[i, o + VTO]
            b.some[h] |= S[i, o + GAMMA] != 0.0


@inlined
def _bipolar_numbers(b, S, o, h, leak, n):
    for i in range(b.x.shape[1]):
        area = S[i, o + AREA]
        b.saturation[h, i], b.nvt[h, i] = S[i, o + IS] * area, S[i, o + NF] * VT
        b.saturation[h + 1, i], b.nvt[h + 1, i] = S[i, o + IS] * S[i, o + BCAREA], S[i, o + NR] * VT
        b.saturation[leak, i], b.nvt[leak, i] = S[i, o + ISE] * area, S[i, o + NE] * VT
        b.saturation[leak + 1, i], b.nvt[leak + 1, i] = S[i, o + ISC] * area, S[i, o + NC] * VT
        b.gummel[n + INV_VAF, i], b.gummel[n + INV_VAR, i] = 1.0 / S[i, o + VAF], 1.0 / S[i, o + VAR]
        b.gummel[n + OIK, i], b.gummel[n + OIKR, i] = 1.0 / (S[i, o + IKF] * area), 1.0 / (S[i, o + IKR] * area)
        b.gummel[n + OVER_BF, i], b.gummel[n + OVER_BR, i] = 1.0 / S[i, o + BF], 1.0 / S[i, o + BR]
        b.some[leak] |= S[i, o + ISE] > 0.0
        b.some[leak + 1] |= S[i, o + ISC] > 0.0


@kernel
def take_volts(b, net, limit):
    """The volts at which each law is taken; ``far``: whether a lane's step was held back, ``cut``: whether a row's was."""
    x, volts, held, nvt, far, cut = b.x, b.volts, b.held, b.nvt, b.far, b.cut
    far[:] = False
    first = net.diodes.shape[0]
    for k in range(first):
        _between(x, volts, net.diodes[k, 0], net.diodes[k, 1], 1.0, k)
        many = _far_lanes(volts, held, nvt, k, k, 2.0) + _far_lanes(volts, held, b.nbvt, k, k, 2.0)
        if limit == LIMITED and many > 0:
            _hold_diode(volts, held, k, b.saturation, nvt, b.bv, b.nbvt, far, cut)
        else:
            _as_is(volts, held, k, limit, far, cut)
    for k in range(2 * net.bipolars.shape[0]):
        line, h = net.bipolars[k // 2], first + k
        _between(x, volts, line[1], line[0] if k % 2 else line[2], float(line[3]), h)
        _hold(volts, held, h, b.saturation, nvt, limit, far, cut)
    first += 2 * net.bipolars.shape[0]
    for k in range(net.fields.shape[0]):
        d, g, s, u = net.fields[k, 0], net.fields[k, 1], net.fields[k, 2], net.fields[k, 3]
        sign, h = float(net.fields[k, 4]), first + 4 * k
        _between(x, volts, u, s, sign, h + 2)
        _between(x, volts, u, d, sign, h + 3)
        _between(x, volts, d, s, sign, h + 1)
        for i in range(x.shape[1]):
            volts[h, i] = sign * (x[g, i] - (x[d, i] if volts[h + 1, i] < 0.0 else x[s, i]))
        for i in range(x.shape[1]):
            volts[h + 1, i] = abs(volts[h + 1, i])
        for j in range(2):
            _hold(volts, held, h + 2 + j, b.saturation, nvt, limit, far, cut)
            _near(volts, held, h + j, nvt, limit, far, cut)


@kernel
def _between(x, volts, p, q, sign, h):
    for i in range(x.shape[1]):
        volts[h, i] = sign * (x[p, i] - x[q, i])


@kernel
def _far_lanes(volts, held, unit, h, k, factor):
    """How many lanes would move further than ``factor`` x row k of ``unit``; no number counts as far."""
    many = 0
    for i in range(volts.shape[1]):
        many += 0 if abs(volts[h, i] - held[h, i]) <= factor * unit[k, i] else 1
    return many


@kernel
def _as_is(volts, held, h, limit, far, cut):
    """Where nothing is held back: the law is taken at the volts given, or (FROZEN) where it last was."""
    cut[h] = False
    if limit != FROZEN:
        for i in range(volts.shape[1]):
            held[h, i] = volts[h, i]
        return
    for i in range(volts.shape[1]):
        if volts[h, i] != held[h, i]:
            cut[h] = far[i] = True


@kernel
def _hold(volts, held, h, saturation, nvt, limit, far, cut):
    """A junction's volts, held back in the lanes that need it."""
    if limit != LIMITED or _far_lanes(volts, held, nvt, h, h, 2.0) == 0:
        _as_is(volts, held, h, limit, far, cut)
        return
    cut[h] = False
    for i in range(volts.shape[1]):
        held[h, i], back = limited(volts[h, i], held[h, i], nvt[h, i], max(saturation[h, i], 1e-30))
        if back:
            cut[h] = far[i] = True


@inlined
def _hold_diode(volts, held, k, saturation, nvt, bv, nbvt, far, cut):
    """The same for a diode, whose volts may be held back in breakdown too."""
    cut[k] = False
    for i in range(volts.shape[1]):
        v, old, at = volts[k, i], held[k, i], bv[k, i]
        if v < min(0.0, -at + 10.0 * nbvt[k, i]):
            mirrored, back = limited(-(v + at), -(old + at), nbvt[k, i], saturation[k, i])
            held[k, i] = -(mirrored + at) if back else v
        else:
            held[k, i], back = limited(v, old, nvt[k, i], saturation[k, i])
        if back:
            cut[k] = far[i] = True


@kernel
def _near(volts, held, h, most, limit, far, cut):
    """A channel's volts, at most so far from where they were."""
    if limit != LIMITED or _far_lanes(volts, held, most, h, h, 1.0) == 0:
        _as_is(volts, held, h, limit, far, cut)
        return
    cut[h] = False
    for i in range(volts.shape[1]):
        v, old, step = volts[h, i], held[h, i], most[h, i]
        held[h, i] = v
        if not abs(v - old) <= step:
            held[h, i] = old + (step if v > old else -step)
            cut[h] = far[i] = True


@inlined
def take_amps(b, net):
    """Current and slope of every junction at the volts taken, seen from the volts given."""
    amps, slopes, held, volts, saturation, nvt, cut = b.amps, b.slopes, b.held, b.volts, b.saturation, b.nvt, b.cut
    diodes, leak, many = net.diodes.shape[0], held.shape[0], 2 * net.bipolars.shape[0]
    for n in range(diodes + 2 * many):
        h = n if n < diodes + many else n - many
        j = n if h == n else leak + n - diodes - many
        if h == n or b.some[j]:
            _forward(amps, slopes, held, saturation, nvt, h, j, GMIN if n < diodes else 0.0)
    for k in range(diodes):
        if _broken(held, b.bv, k) > 0:
            for i in range(amps.shape[1]):
                amps[k, i], slopes[k, i] = diode(held[k, i], saturation[k, i], nvt[k, i], b.bv[k, i], b.nbvt[k, i])
        _given(amps, slopes, held, volts, k, cut)
    for k in range(2 * net.fields.shape[0]):
        j = diodes + many + 4 * (k // 2) + 2 + k % 2
        for i in range(amps.shape[1]):
            amps[j, i], slopes[j, i] = bulk(held[j, i], saturation[j, i])
        _given(amps, slopes, held, volts, j, cut)


@inlined
def _broken(held, bv, k):
    """In how many lanes a diode breaks down."""
    many = 0
    for i in range(held.shape[1]):
        many += 1 if held[k, i] < -bv[k, i] else 0
    return many


@kernel
def _forward(amps, slopes, held, saturation, nvt, h, j, gmin):
    """Junction j, without breakdown, at the volts of row h."""
    for i in range(amps.shape[1]):
        current, g = forward(held[h, i], saturation[j, i], nvt[j, i])
        amps[j, i] = current + gmin * held[h, i]
        slopes[j, i] = g + gmin


@kernel
def _given(amps, slopes, held, volts, j, cut):
    """Where the volts were held back, the current along the slope to the volts given."""
    if cut[j]:
        for i in range(amps.shape[1]):
            amps[j, i] += slopes[j, i] * (volts[j, i] - held[j, i])
