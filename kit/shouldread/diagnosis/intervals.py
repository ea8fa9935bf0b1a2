"""Readings that are intervals (OL, dead, > 2 M): taken one by one, after the numbers, by probability."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from shouldread.diagnosis.joint import Fit, Forecast
from shouldread.diagnosis.restricted import ramp_share, within

Array = NDArray[np.float64]
_EVEN = 0.2  # standard deviation of u (0.289 when even) above which the first interval counts it as even


@dataclass(frozen=True, slots=True)
class Kept:
    """After the intervals: ``log`` (K, q, c) log probability of each given those before it, and the forecast left."""

    log: Array
    forecast: Forecast


def with_position(ahead: Forecast, fitted: Fit) -> Forecast:
    """Fold what is known of u (mean, variance) into means, variances and covariances."""
    patterns = ahead.mean.shape[1]
    place, breadth = fitted.place[:, :patterns, None], fitted.breadth[:, :patterns, None]
    columns = ahead.cross.shape[-1]
    shared = ahead.rise[..., None] * ahead.rise[:, :, None, :columns] * breadth[..., None]
    return Forecast(
        ahead.mean + ahead.rise * place,
        ahead.rise,
        ahead.cross + shared,
        ahead.variance + ahead.rise * ahead.rise * breadth,
    )


def conditioned(ahead: Forecast, fitted: Fit, bounds: Array, skip: int = -1) -> Kept:
    """Take the intervals ``bounds`` (c, 2), which are the first c rows, in order; ``skip`` leaves one out.

    After each, the law kept within its interval is replaced by a normal one of the same mean and variance, and
    the other rows follow by regression.
    """
    now = with_position(ahead, fitted)
    taken = [i for i in range(len(bounds)) if i != skip]
    logs = np.zeros((*now.mean.shape[:2], len(bounds)))
    for i in taken:
        low, high = float(bounds[i, 0]), float(bounds[i, 1])
        mean, variance = now.mean[..., i], now.variance[..., i]
        log_p, kept_mean, kept_variance = within(mean, variance, low, high)
        if i == taken[0]:
            log_p = _first(ahead, fitted, i, low, high, log_p)
        logs[..., i] = log_p
        now = _follow(now, i, kept_mean, kept_variance)
    return Kept(logs, now)


def _follow(now: Forecast, i: int, mean: Array, variance: Array) -> Forecast:
    gain = now.cross[..., i] / now.variance[..., i, None]
    less = (now.variance[..., i] - variance)[..., None]
    cross = now.cross - (gain * less)[..., None] * gain[:, :, None, : now.cross.shape[-1]]
    return replace(
        now,
        mean=now.mean + gain * (mean - now.mean[..., i])[..., None],
        variance=np.maximum(now.variance - gain * gain * less, 1e-30),
        cross=cross,
    )


def _first(ahead: Forecast, fitted: Fit, i: int, low: float, high: float, log_normal: Array) -> Array:
    """The first interval's probability exactly, where nothing has yet told where along its stretch a cell is."""
    patterns = ahead.mean.shape[1]
    place, breadth = fitted.place[:, :patterns], fitted.breadth[:, :patterns]
    mean = ahead.mean[..., i] + ahead.rise[..., i] * place
    rise = np.abs(ahead.rise[..., i]) * np.sqrt(12 * breadth)
    share = ramp_share(mean, ahead.variance[..., i], rise, low, high)
    deviation = np.sqrt(ahead.variance[..., i])
    beyond = np.maximum(np.maximum(low - mean, mean - high) - rise / 2, 0.0) / deviation
    log_even = np.where(share > 1e-9, np.log(np.maximum(share, 1e-300)), log_ndtr(-beyond))
    return np.where(breadth > _EVEN * _EVEN, log_even, log_normal)
