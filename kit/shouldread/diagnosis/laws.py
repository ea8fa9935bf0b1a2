"""Two hypotheses beside each other: how much of what a reading may show under one it may not show under the other.

Each hypothesis brings marks of its own, so that what is said of a pair hangs on those two alone.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.mixture import below, marks_of
from shouldread.diagnosis.panel import Panel
from shouldread.diagnosis.stretches import Stretches, stretches

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

MARKS = 32  # of each hypothesis, at which two laws are compared; between them each is taken as straight


@dataclass(frozen=True, slots=True)
class Laws:
    """H' hypotheses at one row: ``marks`` (H', M) of each, the share ``below`` (H', H' M) of each law below the marks of
    all, and the share ``told`` (H',) that has a reading."""

    marks: Array
    below: Array
    told: Array


def laws_at(panel: Panel, numbers: Ints, row: int) -> Laws:
    """What the hypotheses ``numbers`` (ascending) read at a row of a panel."""
    return laws_of(stretches(panel, row, numbers), numbers, panel.scale.over)


def laws_of(at: Stretches, numbers: Ints, over: float) -> Laws:
    """The same from their stretches; from ``over`` on one value is shown like another."""
    mean = np.minimum(at.mean, over + 40 * np.sqrt(at.variance))
    weight = at.weight * at.told
    starts = np.searchsorted(at.owner, numbers)
    marks = np.minimum(_own_marks(at.owner, marks_of(mean, at.variance, at.rise), numbers), over)
    limits = marks[np.searchsorted(numbers, at.owner)]
    own = np.add.reduceat(below(mean, at.variance, at.rise, limits) * weight[:, None], starts)
    share = np.array([np.interp(marks.ravel(), *law) for law in zip(marks, own, strict=True)])
    return Laws(marks, share, np.add.reduceat(weight, starts))


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
    count = laws.marks.shape[1]
    at = np.concatenate([laws.marks[left], laws.marks[right]], axis=1)
    columns = np.concatenate([k[:, None] * count + np.arange(count) for k in (left, right)], axis=1)
    columns = np.take_along_axis(columns, at.argsort(axis=1), axis=1)
    told = laws.told[left] - laws.told[right]
    gap = laws.below[left[:, None], columns] - laws.below[right[:, None], columns]
    steps = np.diff(np.column_stack([np.zeros(len(gap)), gap, told]), axis=1)
    return np.asarray(np.abs(steps).sum(1) + np.abs(told))
