"""Two hypotheses beside each other: how much of what a reading may show under one it may not show under the other.

Each hypothesis brings marks of its own, so that what is said of a pair hangs on those two alone.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.law_kernels import differences, sum_laws
from shouldread.diagnosis.mixture import marks_of, spread
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


def laws_of(at: Stretches, numbers: Ints, over: float | Array) -> Laws:
    """What the hypotheses ``numbers`` (ascending) read, by their stretches; from ``over`` on, one for all or one of each,
    one value is shown like another."""
    ends = np.broadcast_to(over, len(numbers))
    mean = np.minimum(at.mean, ends[np.searchsorted(numbers, at.owner)] + 40 * np.sqrt(at.variance))
    starts = np.searchsorted(at.owner, [*numbers, numbers[-1] + 1])
    marks = np.minimum(_own_marks(starts, marks_of(mean, at.variance, at.rise)), ends[:, None])
    return _summed(replace(at, mean=mean), starts, marks)


def laws_at(at: Stretches, limits: Array) -> Laws:
    """The laws of all owners of some stretches, in their order, at the same limits (M,) for all."""
    starts = np.append(np.flatnonzero(np.diff(at.owner, prepend=-1)), len(at.owner))
    return _summed(at, starts, np.tile(limits, (len(starts) - 1, 1)))


def _summed(at: Stretches, starts: Ints, marks: Array) -> Laws:
    """Laws at marks (H', M), the stretches of each from its place in ``starts`` (H' + 1) on."""
    shares, densities = np.empty((2, *marks.shape))
    weight = at.weight * at.told
    sum_laws(starts, at.mean, *spread(at.variance, at.rise), weight, marks, shares, densities)
    return Laws(marks, shares, densities, np.add.reduceat(weight, starts[:-1]))


def _own_marks(starts: Ints, marks: Array) -> Array:
    """Of the marks (S, K) of stretches some of each hypothesis (H', M), as dense as they are; its stretches begin at its
    place in ``starts`` (H' + 1)."""
    sizes, out = np.diff(starts), np.empty((len(starts) - 1, MARKS))
    for size in np.unique(sizes):
        which = np.flatnonzero(sizes == size)
        own = np.sort(marks.T[starts[which, None] + np.arange(size)].reshape(len(which), -1), axis=1)
        out[which] = own[:, np.round(np.linspace(0.0, 1.0, MARKS) * (own.shape[1] - 1)).astype(np.intp)]
    return out


def differ(laws: Laws, left: Ints, right: Ints) -> Array:
    """The sum of absolute differences (P,), 0 to 2, between two laws, for pairs of their rows (left, right)."""
    out = np.empty(len(left))
    differences(laws.marks, laws.below, laws.density, laws.told, left, right, out)
    return out
