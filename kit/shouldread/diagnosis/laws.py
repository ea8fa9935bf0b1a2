"""Two hypotheses beside each other: how much of what a reading may show under one it may not show under the other.

Each hypothesis brings marks of its own, so that what is said of a pair hangs on those two alone.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.mixture import below, density, marks_of
from shouldread.diagnosis.stretches import Stretches

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

MARKS = 32  # of each hypothesis, at which two laws are compared; between them each is a cubic that has their densities


@dataclass(frozen=True, slots=True)
class Laws:
    """H' hypotheses at one row: ``marks`` (H', M) of each, at these the share ``below`` of its law and its ``density``
    (H', M), and the share ``told`` (H',) that has a reading."""

    marks: Array
    below: Array
    density: Array
    told: Array


def laws_of(at: Stretches, numbers: Ints, over: float) -> Laws:
    """What the hypotheses ``numbers`` (ascending) read, by their stretches; from ``over`` on one value is shown like another."""
    mean = np.minimum(at.mean, over + 40 * np.sqrt(at.variance))
    weight = (at.weight * at.told)[:, None]
    starts = np.searchsorted(at.owner, numbers)
    marks = np.minimum(_own_marks(at.owner, marks_of(mean, at.variance, at.rise), numbers), over)
    limits = marks[np.searchsorted(numbers, at.owner)]
    shares, densities = (
        np.add.reduceat(law(mean, at.variance, at.rise, limits) * weight, starts) for law in (below, density)
    )
    return Laws(marks, shares, densities, np.add.reduceat(weight[:, 0], starts))


def _own_marks(owner: Ints, marks: Array, numbers: Ints) -> Array:
    """Of the marks (S, K) of stretches (owners ascending) some of each hypothesis (H', M), as dense as they are."""
    whose = np.tile(owner, len(marks))
    order = np.lexsort((marks.ravel(), whose))
    first = np.searchsorted(whose[order], numbers)
    count = np.searchsorted(whose[order], numbers, side="right") - first
    pick = first[:, None] + np.round(np.linspace(0.0, 1.0, MARKS) * (count - 1)[:, None]).astype(np.intp)
    return np.asarray(marks.ravel()[order][pick])


def differ(laws: Laws, left: Ints, right: Ints) -> Array:
    """The sum of absolute differences (P,), 0 to 2, between two laws, for pairs of their rows (left, right)."""
    marks = np.sort(np.concatenate([laws.marks[left], laws.marks[right]], axis=1), axis=1)
    told = laws.told[left] - laws.told[right]
    gap = _at(laws, left, marks) - _at(laws, right, marks)
    steps = np.diff(np.column_stack([np.zeros(len(gap)), gap, told]), axis=1)
    return np.asarray(np.abs(steps).sum(1) + np.abs(told))


def _at(laws: Laws, who: Ints, asked: Array) -> Array:
    """The share of the laws ``who`` (P,) below what is asked of each (P, E), by cubics between its own marks.

    A cubic never leaves the shares that it runs between.
    """
    count, many = laws.marks.shape
    first, wide = laws.marks[:, :1], np.maximum(np.ptp(laws.marks, axis=1, keepdims=True), 1e-300)
    turn = 2.0 * np.arange(count)[:, None]  # the laws one after the other, so that one search does for all of them
    own = ((laws.marks - first) / wide + turn).ravel()
    at = np.clip((asked - first[who]) / wide[who], 0.0, 1.0) + turn[who]
    right = np.clip(np.searchsorted(own, at), (many * who + 1)[:, None], (many * (who + 1) - 1)[:, None])
    low, high = (laws.below.ravel()[k] for k in (right - 1, right))
    gap = own[right] - own[right - 1]
    t = np.clip((at - own[right - 1]) / np.maximum(gap, 1e-300), 0.0, 1.0)
    rise, width = high - low, gap * wide[who]
    start, end = (laws.density.ravel()[k] * width - rise for k in (right - 1, right))
    return np.asarray(np.clip(low + t * rise + t * (1 - t) * ((1 - t) * start - t * end), low, high))
