"""A normal law kept within limits: how much of it lies there, its mean and its variance, far tails included."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

Array = NDArray[np.float64]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_DROP = 18.0  # nats below the peak at which the rest no longer counts (6 standard deviations)
SURE = 8.3  # standard deviations beyond which a double holds no difference from certainty


def log_share(low: Array, high: Array) -> Array:
    """Log of the probability that a standard normal lies between ``low`` and ``high`` (broadcast)."""
    flip = low + high > 0  # the far tail is computed on the side where it is small, not as 1 - (1 - small)
    below = np.where(flip, -high, low)
    above = np.where(flip, -low, high)
    top, bottom = log_ndtr(above), log_ndtr(below)
    with np.errstate(invalid="ignore", divide="ignore"):
        gap = np.where(np.isneginf(bottom), -np.inf, bottom - top)
        return np.asarray(top + np.log1p(-np.exp(np.minimum(gap, -1e-300))))


def crest(slope: Array, bend: Array, low: Array, high: Array) -> tuple[Array, Array]:
    """The most that slope z - bend z²/2 reaches over low..high (bend ≥ 0; broadcast), and where."""
    with np.errstate(divide="ignore", invalid="ignore"):
        peak = np.where(bend > 0, slope / bend, np.where(slope > 0, np.inf, np.where(slope < 0, -np.inf, 0.0)))
    peak = np.clip(peak, low, high)
    return slope * peak - bend * peak * peak / 2, peak


def tilted(slope: Array, bend: Array, low: Array, high: Array) -> tuple[Array, Array, Array]:
    """Log integral, mean and variance of exp(slope z - bend z²/2) over low..high (bend ≥ 0; broadcast).

    Gauss-Legendre over the stretch that holds all but exp(-18) of the peak, so narrow peaks, far tails and
    flat stretches come out alike (within about 1e-7).
    """
    slope, bend, low, high = np.broadcast_arrays(slope, bend, low, high)
    top, peak = crest(slope, bend, low, high)
    fall = np.abs(slope - bend * peak)
    with np.errstate(divide="ignore"):
        reach = 2 * _DROP / (fall + np.sqrt(fall * fall + 2 * _DROP * bend))
    left, right = np.maximum(low, peak - reach), np.minimum(high, peak + reach)
    half = (right - left) / 2
    points = (left + right)[..., None] / 2 + half[..., None] * _NODES
    offset = points - peak[..., None]
    steep = slope - bend * peak
    height = np.exp(steep[..., None] * offset - bend[..., None] * offset * offset / 2) * _WEIGHTS
    total = height.sum(-1)
    shift = (height * offset).sum(-1) / total
    spread = (height * (offset - shift[..., None]) ** 2).sum(-1) / total
    log_total = top + np.log(np.maximum(total * half, 1e-300))
    return log_total, peak + shift, spread


def within(mean: Array, variance: Array, low: float, high: float) -> tuple[Array, Array, Array]:
    """Log probability of low..high under a normal law, and mean and variance of what lies there."""
    deviation = np.sqrt(variance)
    below, above = (low - mean) / deviation, (high - mean) / deviation
    log_p = log_share(below, above)
    sure = (below < -SURE) & (above > SURE)
    _, centre, spread = tilted(np.zeros_like(mean), np.ones_like(mean), below, above)
    kept_mean = np.where(sure, mean, mean + deviation * centre)
    kept_variance = np.where(sure, variance, variance * np.clip(spread, 0.0, 1.0))
    return np.where(sure, 0.0, log_p), kept_mean, kept_variance


def ramp_share(mean: Array, variance: Array, rise: Array, low: float, high: float) -> Array:
    """Probability of low..high for mean + rise·u + noise, with u even between -1/2 and 1/2.

    Closed form by the running integral of the normal distribution, F(z) = z Φ(z) + φ(z).
    """
    deviation = np.sqrt(variance)
    rise = np.maximum(np.abs(rise), 1e-4 * deviation)
    below = _ramp_below(mean, deviation, rise, low)
    return np.clip(_ramp_below(mean, deviation, rise, high) - below, 0.0, 1.0)


def _ramp_below(mean: Array, deviation: Array, rise: Array, limit: float) -> Array:
    if not np.isfinite(limit):
        return np.full_like(mean, 1.0 if limit > 0 else 0.0)
    up = (limit - mean + rise / 2) / deviation
    down = (limit - mean - rise / 2) / deviation
    return np.asarray(deviation / rise * (_running(up) - _running(down)))


def _running(z: Array) -> Array:
    return np.asarray(z * np.exp(log_ndtr(z)) + np.exp(-z * z / 2) / np.sqrt(2 * np.pi))
