"""Mixtures of straight stretches with normal spread: how much lies below a value, quantiles, shares in bins."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.law_kernels import shares_below

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
_HALVINGS = 44  # or as fine a division into more parts at a time
_PARTS, _AT_ONCE = 32, 400  # parts at a time, fewer where there are many stretches: so many values at once
_FLANKS = (-4.0, -2.0, -0.8, 0.0, 0.8, 2.0, 4.0)  # standard deviations from a middle at which bins end
_GRAIN = 1e-3  # of the least standard deviation: bins that end so near to each other are one, whatever rounding says
_STRAIGHT = 0.3  # rise in standard deviations below which a stretch is a normal law as it stands


@dataclass(frozen=True, slots=True)
class Mixture:
    """K stretches: weights sum to 1, ``mean + rise u`` with u even in ±1/2, plus a normal part of ``variance``."""

    weight: Array
    mean: Array
    variance: Array
    rise: Array

    def below(self, value: float) -> float:
        """Share of the mixture below a value."""
        return float(self.weight @ below(self.mean, self.variance, self.rise, np.array([value]))[:, 0])

    def quantiles(self, shares: Sequence[float]) -> Array:
        """The values below which those shares of the mixture lie (to 1e-13 of the reach)."""
        reach = np.abs(self.rise) / 2 + 9 * np.sqrt(self.variance)
        low = np.full(len(shares), float((self.mean - reach).min()))
        high = np.full(len(shares), float((self.mean + reach).max()))
        parts = int(np.clip(_AT_ONCE // len(self.mean), 2, _PARTS))
        asked, row = np.asarray(shares)[:, None], np.arange(len(shares))
        for _ in range(math.ceil(_HALVINGS / math.log2(parts))):
            ends = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, parts + 1)
            less = self.weight @ below(self.mean, self.variance, self.rise, ends.ravel())
            part = np.clip((less.reshape(ends.shape) < asked).sum(1) - 1, 0, parts - 1)
            low, high = ends[row, part], ends[row, part + 1]
        return np.asarray((low + high) / 2)


def below(mean: Array, variance: Array, rise: Array, limits: Array) -> Array:
    """Share of each stretch below each limit: (K,) and (E,), or limits of its own (K, E), give (K, E)."""
    limits = np.ascontiguousarray(np.broadcast_to(limits, (len(mean), limits.shape[-1])), dtype=np.float64)
    out = np.empty(limits.shape)
    shares_below(mean, *spread(variance, rise), limits, out)
    return out


def spread(variance: Array, rise: Array) -> tuple[Array, Array]:
    """Deviation and span of each stretch; a short one is a normal law with its span in it, and has none."""
    deviation, span = np.sqrt(np.maximum(variance, 1e-30)), np.abs(rise)
    long = span > _STRAIGHT * deviation
    whole = np.where(long, deviation, np.sqrt(deviation * deviation + span * span / 12))
    return whole, np.where(long, span, 0.0)


def marks_of(mean: Array, variance: Array, rise: Array) -> Array:
    """Where stretches (K,) begin, end and bend (S, K): their middles, flanks and ends."""
    deviation = np.sqrt(np.maximum(variance, 1e-30))
    half = np.abs(rise) / 2
    marks = [mean + k * deviation + s * half for s in (-1.0, 0.0, 1.0) for k in _FLANKS]
    return np.array([*marks, mean - half / 2, mean + half / 2])


def edges_for(mean: Array, variance: Array, rise: Array, most: int) -> Array:
    """Bin edges, up to ``most``, close where the marks of the stretches are."""
    grain = _GRAIN * max(float(np.sqrt(variance.min(initial=np.inf))), 1e-12)
    sorted_marks = np.unique(np.round(marks_of(mean, variance, rise) / grain)) * grain
    if len(sorted_marks) > most:
        sorted_marks = sorted_marks[np.linspace(0, len(sorted_marks) - 1, most).round().astype(int)]
    return sorted_marks


def bin_shares(mean: Array, variance: Array, rise: Array, edges: Array) -> Array:
    """Share of each stretch in each of the E + 1 bins that E edges make (K, E + 1)."""
    cumulative = below(mean, variance, rise, edges)
    first, last = np.zeros((len(mean), 1)), np.ones((len(mean), 1))
    return np.maximum(np.diff(np.concatenate([first, cumulative, last], axis=1), axis=1), 0.0)
