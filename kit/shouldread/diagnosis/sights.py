"""Sights: what some hypotheses read at rows of panels, by spots of each, beside each other, whatever panel they are of."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.laws import Laws, laws_of
from shouldread.diagnosis.spots import REACH, STILL, Spots, are_same, look
from shouldread.diagnosis.stretches import Stretches

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Sights:
    """E sights, each of a hypothesis ``number`` (E,) at place ``at`` (E,) in the list of rows that were asked for.

    ``mean`` and ``variance`` (E, P) on the scale of its panel, ``told`` (E, P), ``over`` (E,): from where on one value
    is shown like another. Of each row the first is that of a good board, which is number 0.
    """

    at: Ints
    number: Ints
    mean: Array
    variance: Array
    told: Flags
    over: Array

    @classmethod
    def of(cls, rows: Sequence[tuple[Spots, int]], numbers: Sequence[Ints], count: int) -> "Sights":
        """Hypotheses ``numbers`` of each row and a good board, by ``count`` spots."""
        numbers = [np.unique(np.append(0, some)) for some in numbers]
        asked: dict[Spots, Ints] = {}
        for (spots, _), some in zip(rows, numbers, strict=True):
            asked[spots] = np.union1d(asked.get(spots, some), some)
        look(list(asked.items()), count)
        seen = [spots.seen(some, [row], count) for (spots, row), some in zip(rows, numbers, strict=True)]
        mean, variance, told = (np.concatenate([one[k][..., 0] for one in seen]) for k in range(3))
        at = np.repeat(np.arange(len(rows)), [len(some) for some in numbers])
        over = np.array([spots.over for spots, _ in rows])
        return cls(at, np.concatenate(numbers), mean, variance, told.astype(bool), over[at])

    def place(self, at: Ints, number: Ints) -> Ints:
        """Which sights are those of hypotheses (Q,) at rows (Q,)."""
        turn = int(self.number.max(initial=0)) + 1
        return np.searchsorted(self.at * turn + self.number, at * turn + number)

    def moved(self) -> Flags:
        """Which of them lie away from the good board of their row by anything that counts."""
        good = np.searchsorted(self.at, self.at)
        off = np.abs(self.mean - self.mean[good]) / np.sqrt(self.variance[good])
        off = np.maximum(off, np.abs(np.log(self.variance / self.variance[good])))
        return np.asarray(~((off < STILL) & self.told & self.told[good]).all(1))

    def same(self, left: Ints, right: Ints) -> Flags:
        """Which pairs of them (Q,) read the same at every spot."""
        return are_same(self.mean[..., None], self.variance[..., None], self.told[..., None], left, right)[:, 0]

    def stretches(self, which: Ints) -> Stretches:
        """What some of them (ascending) read, each an owner of its own.

        In order of size what is read at the spots divides the law evenly, whatever number of axes moves it.
        """
        mean, variance, told = self.mean[which], self.variance[which], self.told[which]
        first, count = variance[:, 0].copy(), mean.shape[1]
        order = np.argsort(np.where(told, mean, np.inf), axis=1, kind="stable")
        mean, variance = np.take_along_axis(mean, order, axis=1), np.take_along_axis(variance, order, axis=1)
        told = np.take_along_axis(told, order, axis=1)
        still = told.all(1) & (mean[:, -1] - mean[:, 0] < STILL * np.sqrt(first))
        variance[still, 0], rise = first[still], _rises(mean, told)
        rise[still] = 0.0
        sizes = np.where(still, 1, count)
        of = np.repeat(np.arange(len(which)), sizes)
        at = np.arange(len(of)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
        return Stretches(which[of], 1.0 / sizes[of], mean[of, at], variance[of, at], rise[of, at], told[of, at])

    def laws(self, stretches: Stretches, which: Ints) -> Laws:
        """The laws of some of them, by their stretches."""
        return laws_of(stretches, which, self.over[which])


def beyond(seen: Stretches, which: Ints, left: Ints, right: Ints) -> Flags:
    """Which pairs (Q,), by their places in ``which``, have nothing in common: all of one lies below the other."""
    starts = np.searchsorted(seen.owner, which)
    reach = np.abs(seen.rise) / 2 + REACH * np.sqrt(seen.variance)
    low, high = np.minimum.reduceat(seen.mean - reach, starts), np.maximum.reduceat(seen.mean + reach, starts)
    told = np.logical_and.reduceat(seen.told, starts)
    return np.asarray(told[left] & told[right] & ((low[left] > high[right]) | (low[right] > high[left])))


def _rises(mean: Array, told: Flags) -> Array:
    """How much each spot stands for of a law, from those beside it in order of size (E, P); none where it is not told."""
    rise = np.gradient(mean, axis=1)
    for k in np.flatnonzero(~told.all(1)).tolist():
        many = int(told[k].sum())
        rise[k] = 0.0
        if many > 1:
            rise[k, :many] = np.gradient(mean[k, :many])
    return np.asarray(rise)
