"""Shares of stretches below limits, summed to laws, and these held against each other pair by pair (numba)."""

import math

from shouldread.parts.laws.kernel import inlined, kernel

REACH = 9.0  # standard deviations beyond which a double holds no difference from certainty


@kernel
def _normal(z):
    """The normal distribution below z, and its density there."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0)), math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)


@kernel
def _stretch_at(offset, deviation, span):
    """Share of a stretch below ``offset`` from its middle, and its density there; span 0: a normal law."""
    if span == 0.0:
        share, dense = _normal(offset / deviation)
        return share, dense / deviation
    a, b = (offset + span / 2.0) / deviation, (offset - span / 2.0) / deviation
    below_a, dense_a = _normal(a)
    below_b, dense_b = _normal(b)
    share = deviation / span * (a * below_a + dense_a - b * below_b - dense_b)
    return min(max(share, 0.0), 1.0), (below_a - below_b) / span


@kernel
def shares_below(mean, deviation, span, limits, out):
    """``out`` (K, E): the share of each stretch below limits of its own (K, E)."""
    for k in range(mean.size):
        reach = REACH * deviation[k] + span[k] / 2.0
        for e in range(limits.shape[1]):
            offset = limits[k, e] - mean[k]
            out[k, e] = 1.0 if offset >= reach else 0.0
            if abs(offset) < reach:
                out[k, e] = _stretch_at(offset, deviation[k], span[k])[0]


@kernel
def sum_laws(starts, mean, deviation, span, weight, marks, shares, densities):
    """``shares`` and ``densities`` (H, M) at the marks (H, M) of each law, its stretches from one of ``starts`` (H + 1) on."""
    shares[:] = densities[:] = 0.0
    for h in range(marks.shape[0]):
        for k in range(starts[h], starts[h + 1]):
            reach = REACH * deviation[k] + span[k] / 2.0
            for m in range(marks.shape[1]):
                offset = marks[h, m] - mean[k]
                if offset >= reach:
                    shares[h, m] += weight[k]
                elif offset > -reach:
                    share, dense = _stretch_at(offset, deviation[k], span[k])
                    shares[h, m] += weight[k] * share
                    densities[h, m] += weight[k] * dense


@inlined
def _between(marks, shares, densities, h, right, at):
    """The share of law h below a value, by the cubic that ends at its mark ``right``; that never leaves its ends."""
    left, low, high = marks[h, right - 1], shares[h, right - 1], shares[h, right]
    width, rise = marks[h, right] - left, high - low
    t = min(max((at - left) / max(width, 1e-300), 0.0), 1.0)
    start, end = densities[h, right - 1] * width - rise, densities[h, right] * width - rise
    value = low + t * rise + t * (1.0 - t) * ((1.0 - t) * start - t * end)
    return min(max(value, low), high)


@kernel
def _further(marks, h, right, at):
    """The mark of law h at which the stretch between two of them ends that holds a value, from one on."""
    while right < marks.shape[1] - 1 and marks[h, right] < at:
        right += 1
    return right


@kernel
def differences(marks, shares, densities, told, left, right, out):
    """Sum of the absolute differences (Q,) of two laws between all marks of both, for pairs of them."""
    count = marks.shape[1]
    for q in range(left.size):
        one, two, i, j, a, b = left[q], right[q], 1, 1, 0, 0
        was, total, end = 0.0, 0.0, told[left[q]] - told[right[q]]
        while a < count or b < count:
            if b == count or (a < count and marks[one, a] <= marks[two, b]):
                at = marks[one, a]
                a += 1
            else:
                at = marks[two, b]
                b += 1
            i, j = _further(marks, one, i, at), _further(marks, two, j, at)
            gap = _between(marks, shares, densities, one, i, at) - _between(marks, shares, densities, two, j, at)
            total += abs(gap - was)
            was = gap
        out[q] = total + abs(end - was) + abs(end)
