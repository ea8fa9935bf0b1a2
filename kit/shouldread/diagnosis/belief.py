"""Belief: how much each hypothesis, each cell of it, and each possibly wrong reading weighs after the readings."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from shouldread.diagnosis.board import Board
from shouldread.diagnosis.cells import Cells, Slopes, slopes_of
from shouldread.diagnosis.intervals import Kept, conditioned
from shouldread.diagnosis.joint import HOPELESS, Fit, Lines, fit, forecast
from shouldread.diagnosis.panel import Panel
from shouldread.diagnosis.taken import Taken, noise_of

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

WRONG = 0.01  # chance that any one reading is wrong: a slip of probe, range, decimal point (own judgement)


@dataclass(frozen=True, slots=True)
class Rows:
    """The readings in the order of inference: numbers first, then intervals, each with its panel and pair."""

    taken: tuple[Taken, ...]
    where: tuple[tuple[Panel, int], ...]
    numbers: int

    @classmethod
    def of(cls, taken: Sequence[Taken], where: Sequence[tuple[Panel, int]]) -> "Rows":
        """Numbers before intervals."""
        order = [k for k, t in enumerate(taken) if t.is_number] + [k for k, t in enumerate(taken) if not t.is_number]
        return cls(
            tuple(taken[k] for k in order), tuple(where[k] for k in order), sum(1 for t in taken if t.is_number)
        )

    @property
    def read(self) -> Array:
        """Numbers read, on their scales (n,)."""
        return np.array([t.at for t in self.taken[: self.numbers]])

    @property
    def bounds(self) -> Array:
        """Intervals read, on their scales (m, 2)."""
        return np.array([[t.low, t.high] for t in self.taken[self.numbers :]]).reshape(-1, 2)

    @property
    def log_flat(self) -> Array:
        """Log of what a law that knows nothing says of each (n + m,)."""
        return np.array([t.log_flat for t in self.taken])

    @property
    def log_slip(self) -> Array:
        """Log of what a slip of the hand says of each (n + m,)."""
        return np.array([t.log_slip for t in self.taken])


@dataclass(frozen=True, slots=True)
class Weighed:
    """Cells weighed against readings. ``log`` (K, 1 + N): log of cell's weight x prior x density, for each pattern
    of at most one wrong reading; ``log_total`` of all together; ``cell_share`` (K,) and ``none_of_these`` are shares
    of belief. The rest is kept for forecasts."""

    cells: Cells
    rows: Rows
    log: Array
    log_total: float
    cell_share: Array
    none_of_these: float
    lines: Lines
    fitted: Fit
    lead: Ints
    noise: Array

    @property
    def wrong_share(self) -> Array:
        """For each reading, how sure it is that this one is wrong (N,)."""
        if not len(self.rows.taken):
            return np.zeros(0)
        return np.asarray(np.exp(logsumexp(self.log[:, 1:], axis=0) - self.log_total))

    @property
    def unslipped(self) -> Array:
        """Share of each cell with all readings right (K,)."""
        return np.asarray(np.exp(self.log[:, 0] - self.log_total))

    def hypothesis_share(self, count: int) -> Array:
        """Share of each hypothesis (count,)."""
        out = np.zeros(count)
        np.add.at(out, self.cells.region.owner, self.cell_share)
        return out


def weigh(board: Board, cells: Cells, rows: Rows, weights: Array) -> Weighed:
    """Weigh cells against readings; ``weights`` (H,) are the hypotheses' shares before them (by observations too)."""
    slopes = slopes_of(cells, rows.where)
    noise = noise_of(rows.taken)
    lead = slopes.lead(np.diagonal(noise))
    lines = with_untold(slopes, slopes.along(lead), rows, noise)
    fitted, log = _explained(lines, rows, noise, slopes)
    with np.errstate(divide="ignore"):
        prior = np.log(weights[cells.region.owner])
        log_none = np.log(board.hypotheses.none_of_these) + rows.log_flat.sum()
    log = log + (prior + cells.log_weight)[:, None]
    whole = logsumexp(log, axis=1)
    total = float(np.logaddexp(logsumexp(whole) if len(whole) else -np.inf, log_none))
    none = float(np.exp(log_none - total))
    return Weighed(cells, rows, log, total, np.exp(whole - total), none, lines, fitted, lead, noise)


def with_untold(slopes: Slopes, lines: Lines, rows: Rows, noise: Array) -> Lines:
    """The lines, in place: where a cell has no steady answer, its number is as likely as a law that knows nothing says.

    The readings are the first rows of ``lines``; further rows stay as they are.
    """
    count = len(rows.taken)
    cell, row = np.nonzero(~slopes.told[:, :count])
    at, wide = np.zeros(count), np.maximum(np.exp(-2 * rows.log_flat) / (2 * np.pi) - np.diagonal(noise), 0.0)
    at[: rows.numbers] = rows.read
    lines.mean[cell, row], lines.loads[cell, row], lines.rise[cell, row] = at[row], 0.0, 0.0
    lines.loose[cell, row] = wide[row]
    return lines


def _explained(lines: Lines, rows: Rows, noise: Array, slopes: Slopes) -> tuple[Fit, Array]:
    """How the cells stand to the numbers, and log density of all readings by pattern, its own weight included.

    What the numbers leave no hope is bounded only, unless intervals then speak against all that had hope.
    """
    n, worth = rows.numbers, _worth(rows)
    known = lines.rows(slice(0, n))
    fitted = fit(known, rows.read, noise[:n, :n], worth[: 1 + n])
    log = _patterns(lines, fitted, rows, noise, slopes) + worth
    if log.size and log.max() < (fitted.log + worth[: 1 + n]).max() - HOPELESS / 2:
        fitted = fit(known, rows.read, noise[:n, :n])
        log = _patterns(lines, fitted, rows, noise, slopes) + worth
    return fitted, log


def _worth(rows: Rows) -> Array:
    """Log of each pattern's own weight, and of what a slip of the hand says of its wrong reading (1 + n + m,)."""
    total = len(rows.taken)
    chance = min(WRONG, 0.5 / max(total, 1))
    return np.concatenate([[np.log1p(-chance * total)], np.log(chance) + rows.log_slip])


def _patterns(lines: Lines, fitted: Fit, rows: Rows, noise: Array, slopes: Slopes) -> Array:
    """Log density of all readings that the pattern holds right (K, 1 + n + m)."""
    n, total = rows.numbers, len(rows.taken)
    log_flat = rows.log_flat
    out = np.empty((len(lines.mean), 1 + total))
    out[:, : 1 + n] = fitted.log
    if total > n:
        cross = slice(n, total)
        ahead = forecast(
            lines.rows(slice(0, n)), lines.rows(cross), fitted, noise[cross, cross], noise[cross, :n], total - n, 1 + n
        )
        untold = ~slopes.told[:, n:]
        kept = conditioned(ahead, fitted, rows.bounds)
        out[:, : 1 + n] += _summed(kept, untold, log_flat[n:])
        for i in range(total - n):
            first = replace(
                ahead,
                mean=ahead.mean[:, :1],
                rise=ahead.rise[:, :1],
                cross=ahead.cross[:, :1],
                variance=ahead.variance[:, :1],
            )
            without = conditioned(first, fitted, rows.bounds, skip=i)
            out[:, 1 + n + i] = fitted.log[:, 0] + _summed(without, untold, log_flat[n:], skip=i)[:, 0]
    return out


def _summed(kept: Kept, untold: NDArray[np.bool_], log_flat: Array, skip: int = -1) -> Array:
    logs = np.where(untold[:, None, :], log_flat, kept.log)
    if skip >= 0:
        logs[:, :, skip] = 0.0
    return np.asarray(logs.sum(2))
