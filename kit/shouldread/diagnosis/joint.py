"""How well each cell of each hypothesis explains all numbers read, jointly, with at most one of them wrong.

A *cell* is a piece of a hypothesis in which every reading is a straight line in what is unsure: one standard
normal variable per part (so nodes go up and down together by themselves) and one position u, even between
-1/2 and 1/2, along the cell's stretch of severity. A *pattern* says which reading is wrong: 0 none, j the j-th.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.restricted import crest, tilted

Array = NDArray[np.float64]

HOPELESS = 60.0  # nats below the best: what cannot come closer is not worked out


@dataclass(frozen=True, slots=True)
class Lines:
    """What K cells predict for n rows: ``mean`` (K, n), ``loads`` (K, n, P) change per standard deviation of
    each part variable, ``rise`` (K, n) change from one end of the cell to the other, ``loose`` (K, n) variance of
    its own that each row has beside these (columns left out, a cell that cannot tell)."""

    mean: Array
    loads: Array
    rise: Array
    loose: Array

    def rows(self, chosen: slice | NDArray[np.intp]) -> "Lines":
        """The same cells, only these rows."""
        return Lines(self.mean[:, chosen], self.loads[:, chosen], self.rise[:, chosen], self.loose[:, chosen])


@dataclass(frozen=True, slots=True)
class Fit:
    """How K cells stand to n numbers, for 1 + n patterns. ``log`` (K, 1+n): log density of the readings that the
    pattern holds right. ``place``, ``breadth`` (K, 1+n): mean and variance of u. The rest serves ``conditioned``:
    ``pull`` (K, n) = A r, ``lean`` (K, n) = A d, ``stiff`` (K, n) = diagonal of A, ``inverse`` A (K, n, n)."""

    log: Array
    place: Array
    breadth: Array
    pull: Array
    lean: Array
    stiff: Array
    inverse: Array


def fit(lines: Lines, read: Array, noise: Array, worth: Array | None = None) -> Fit:
    """Fit n numbers ``read`` (n,) with covariance ``noise`` (n, n) of the meter and the display.

    All leave-one-out densities come from one factorisation: the reading j given the others has mean
    y_j - (A r)_j / A_jj and variance 1 / A_jj, A the inverse covariance. ``worth`` (1+n,) is the log weight that each
    pattern has besides: with it, cells and patterns that are hopeless beside the best get the bound of their density.
    """
    count = lines.mean.shape[1]
    cells = lines.mean.shape[0]
    if count == 0:
        flat = np.zeros((cells, 1))
        none = np.zeros((cells, 0))
        return Fit(flat, flat, flat + 1 / 12, none, none, none, np.zeros((cells, 0, 0)))
    covariance = lines.loads @ lines.loads.transpose(0, 2, 1) + noise
    diagonal = np.arange(count)
    covariance[:, diagonal, diagonal] += lines.loose
    residual = read - lines.mean
    factor = np.linalg.cholesky(covariance)
    inverse = np.linalg.inv(covariance)
    pull = (inverse @ residual[..., None])[..., 0]
    lean = (inverse @ lines.rise[..., None])[..., 0]
    stiff: Array = np.diagonal(inverse, axis1=1, axis2=2).astype(float)
    log_det = 2 * np.log(np.diagonal(factor, axis1=1, axis2=2)).sum(1)
    whole = -0.5 * ((residual * pull).sum(1) + log_det + count * np.log(2 * np.pi))
    bend = (lines.rise * lean).sum(1)
    slope = (lines.rise * pull).sum(1)
    heights = _with_each_left_out(whole, 0.5 * (np.log(2 * np.pi / stiff) + pull * pull / stiff), 1.0)
    slopes = _with_each_left_out(slope, lean * pull / stiff, -1.0)
    bends = np.maximum(_with_each_left_out(bend, lean * lean / stiff, -1.0), 0.0)
    log_u, place, breadth = _along_u(slopes, bends, None if worth is None else heights + worth)
    return Fit(heights + log_u, place, breadth, pull, lean, stiff, np.asarray(inverse, dtype=float))


def _along_u(slopes: Array, bends: Array, weighed: Array | None) -> tuple[Array, Array, Array]:
    """Log integral, mean and variance of u over the cell, worked out where ``weighed`` leaves hope."""
    low, high = np.array(-0.5), np.array(0.5)
    if weighed is None:
        return tilted(slopes, bends, low, high)
    bound, place = crest(slopes, bends, low, high)
    breadth = np.zeros_like(place)
    most = weighed + bound
    hopeful = most > most.max() - HOPELESS
    found = tilted(slopes[hopeful], bends[hopeful], low, high)
    bound[hopeful], place[hopeful], breadth[hopeful] = found
    return bound, place, breadth


def _with_each_left_out(whole: Array, parts: Array, sign: float) -> Array:
    return np.concatenate([whole[:, None], whole[:, None] + sign * parts], axis=1)


@dataclass(frozen=True, slots=True)
class Forecast:
    """Rows still open, given the numbers: ``mean`` (K, q, m) per pattern, ``rise`` (K, q, m) along u,
    ``cross`` (K, q, m, c) covariance with the first c of them, ``variance`` (K, q, m), u left as it was fitted."""

    mean: Array
    rise: Array
    cross: Array
    variance: Array


def forecast(
    known: Lines, rows: Lines, fitted: Fit, noise: Array, noise_between: Array, columns: int, patterns: int
) -> Forecast:
    """What each cell expects at ``rows`` (m) once the ``known`` numbers are in, for the first ``patterns`` patterns.

    ``noise`` (m, m) is the meter's own among the rows, ``noise_between`` (m, n) what it shares with the numbers.
    ``columns``: among how many leading rows covariances are wanted. A pattern that holds reading j wrong undoes
    it by a rank-one step, so no pattern costs a factorisation of its own.
    """
    head, diagonal = slice(0, columns), np.arange(columns)
    mixed = rows.loads @ known.loads.transpose(0, 2, 1) + noise_between
    weights = mixed @ fitted.inverse
    residual_mean = rows.mean + (mixed @ fitted.pull[..., None])[..., 0]
    rise = rows.rise - (mixed @ fitted.lean[..., None])[..., 0]
    own = (rows.loads * rows.loads).sum(2) + rows.loose + np.diagonal(noise)
    variance = own - (weights * mixed).sum(2)
    cross = rows.loads @ rows.loads[:, head].transpose(0, 2, 1) + noise[:, head]
    cross[:, diagonal, diagonal] += rows.loose[:, head]
    cross -= weights @ mixed[:, head].transpose(0, 2, 1)
    if patterns == 1:
        return Forecast(residual_mean[:, None], rise[:, None], cross[:, None], np.maximum(variance, 1e-30)[:, None])
    undone = weights.transpose(0, 2, 1)[:, : patterns - 1]
    error = (fitted.pull / fitted.stiff)[:, : patterns - 1, None]
    tilt = (fitted.lean / fitted.stiff)[:, : patterns - 1, None]
    stiff = fitted.stiff[:, : patterns - 1, None]
    means = np.concatenate([residual_mean[:, None], residual_mean[:, None] - undone * error], 1)
    rises = np.concatenate([rise[:, None], rise[:, None] + undone * tilt], 1)
    variances = np.concatenate([variance[:, None], variance[:, None] + undone * undone / stiff], 1)
    outer = undone[..., None] * undone[:, :, None, head] / stiff[..., None]
    crosses = np.concatenate([cross[:, None], cross[:, None] + outer], 1)
    return Forecast(means, rises, crosses, np.maximum(variances, 1e-30))
