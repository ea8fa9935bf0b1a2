"""Spots: what hypotheses read at a few points of their axes, the same points for all: a quick look at a panel.

Where two hypotheses turn the same values the same way, they read the same at every spot, however few there are; what
they differ by is found to within about one spot in all.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.panel import Panel
from shouldread.diagnosis.stretches import Stretches

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]

MOST = 256  # spots there are; any first 2**k of them lie evenly too
REACH = 6.0  # standard deviations beyond which a law holds nothing that counts
PAIRS = 1000  # held beside each other at a time: keeps the memory bounded
STILL = 0.02  # of the deviation: what moves by less does not move
_STEP = 117  # its powers number MOST apart from each other on 64 axes; of all such the evenest, two and four axes at a time


@cache
def spots(count: int, axes: int) -> Array:
    """The first ``count`` spots (count, axes), 0..1: a lattice taken in van der Corput's order, so that it can be gone on with.

    Extensible lattice with powers of one number as its generator: Hickernell et al. 2000, SIAM J. Sci. Comput. 22:1117
    (from memory).
    """
    bits = MOST.bit_length() - 1
    order = np.array([int(f"{k:0{bits}b}"[::-1], 2) for k in range(count)])
    turns = np.array([pow(_STEP, axis, MOST) for axis in range(axes)])
    out = (order[:, None] * turns % MOST + 0.5) / MOST
    out.flags.writeable = False
    return np.asarray(out)


@dataclass(frozen=True, slots=True)
class _Seen:
    """One hypothesis at its spots: ``mean`` and ``variance`` (P, R) on the panel's scale, ``told`` (P,)."""

    mean: Array
    variance: Array
    told: Flags


class Spots:
    """What hypotheses read at their spots on one panel; each spot is solved once."""

    def __init__(self, panel: Panel) -> None:
        self._panel = panel
        self._seen: dict[int, _Seen] = {}
        self._looked: set[tuple[int, int]] = set()  # hypothesis, spots asked for

    def moved(self, row: int, numbers: Ints, count: int) -> Flags:
        """Which of some hypotheses move a row away from a good board by anything that counts, by ``count`` spots of each."""
        mean, variance, told = self._beside(np.append(0, numbers), [row], count)
        off = np.abs(mean - mean[0]) / np.sqrt(variance[0])
        off = np.maximum(off, np.abs(np.log(variance / variance[0])))
        return np.asarray((~((off < STILL) & told & told[0]).all(1))[1:, 0] & (numbers > 0))

    def stretches(self, row: int, numbers: Ints, count: int) -> Stretches:
        """What hypotheses ``numbers`` (ascending) read at a row of the panel, by ``count`` spots of each.

        In order of size what is read at the spots divides the law evenly, whatever number of axes moves it.
        """
        mean, variance, told = self._beside(numbers, [row], count)
        mean, variance, told = mean[..., 0], variance[..., 0], told[..., 0]
        first = variance[:, 0].copy()
        order = np.argsort(np.where(told, mean, np.inf), axis=1, kind="stable")
        mean, variance = np.take_along_axis(mean, order, axis=1), np.take_along_axis(variance, order, axis=1)
        told = np.take_along_axis(told, order, axis=1)
        still = told.all(1) & (mean[:, -1] - mean[:, 0] < STILL * np.sqrt(first))
        variance[still, 0], rise = first[still], _rises(mean, told)
        rise[still] = 0.0
        sizes = np.where(still, 1, count)
        of = np.repeat(np.arange(len(numbers)), sizes)
        at = np.arange(len(of)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
        return Stretches(numbers[of], 1.0 / sizes[of], mean[of, at], variance[of, at], rise[of, at], told[of, at])

    def beyond(self, rows: Sequence[int], left: Ints, right: Ints, count: int) -> Flags:
        """Which pairs of hypotheses (P,) some of these rows surely tell apart: all of one lies below the other there."""
        numbers = np.unique([left, right])
        mean, variance, told = self._beside(numbers, rows, count)
        reach = REACH * np.sqrt(variance)
        gap = np.diff(np.sort(mean, axis=1), axis=1).max(1, initial=0.0) / 2
        sure = told.all(1)
        low = np.where(sure, (mean - reach).min(1) - gap, -np.inf)
        high = np.where(sure, (mean + reach).max(1) + gap, np.inf)
        one, two = (np.searchsorted(numbers, side) for side in (left, right))
        return np.asarray(((low[one] > high[two]) | (low[two] > high[one])).any(1))

    def same(self, rows: Sequence[int], left: Ints, right: Ints, count: int) -> Flags:
        """Which pairs of hypotheses read the same at every spot, row by row (P, R)."""
        numbers = np.unique([left, right])
        mean, variance, told = self._beside(numbers, rows, count)
        width, sure = np.sqrt(variance), np.asarray(told.all(1))
        out = np.zeros((len(left), len(rows)), dtype=bool)
        for k in range(0, len(left), PAIRS):
            one, two = (np.searchsorted(numbers, side[k : k + PAIRS]) for side in (left, right))
            alike = np.abs(mean[one] - mean[two]) < STILL * width[one]
            alike &= np.abs(width[one] - width[two]) < STILL / 2 * width[one]
            out[k : k + PAIRS] = alike.all(1) & sure[one] & sure[two]
        return out

    def _beside(self, numbers: Ints, rows: Sequence[int], count: int) -> tuple[Array, Array, Flags]:
        """Means, variances and whether they are told (H, P, R) of hypotheses by ``count`` spots of each.

        What no axis of its own moves is the same at every spot.
        """
        self._look(numbers, count)
        seen = [self._seen[number] for number in numbers.tolist()]
        mean, variance = np.empty((2, len(numbers), count, len(rows)))
        told = np.empty(mean.shape, dtype=bool)
        for k, one in enumerate(seen):
            mean[k], variance[k], told[k] = one.mean[:count, rows], one.variance[:count, rows], one.told[:count, None]
        return mean, variance, told

    def _look(self, numbers: Ints, count: int) -> None:
        """Solve the spots that are wanted and not seen yet, all at once, with those of a good board."""
        asked = [n for n in (0, *numbers[numbers > 0].tolist()) if (n, count) not in self._looked]
        if not asked:
            return
        panel, wanted = self._panel, []
        panel.board.prepare(asked, panel.context)
        for number in asked:
            have = len(self._seen[number].told) if number in self._seen else 0
            many = count if panel.board.lanes(number, panel.context).axes(number) else 1
            wanted += [(number, k) for k in range(have, many)]
        if wanted:
            self._solve(*(np.array(column, dtype=np.intp) for column in zip(*wanted, strict=True)))
        self._looked |= {(number, count) for number in asked}

    def _solve(self, owner: Ints, place: Ints) -> None:
        """Solve spots by their places in the order of all, hypothesis by hypothesis."""
        panel = self._panel
        told = panel.predicted(owner, spots(MOST, len(panel.board.variables.axes))[place])
        mean = np.nan_to_num(told.mean)
        own = ((told.loads * panel.board.variables.doubt) ** 2).sum(2) + told.loose + panel.scale.variance(mean)
        starts = np.flatnonzero(np.diff(owner, prepend=-1))
        for number, here in zip(owner[starts].tolist(), np.split(np.arange(len(owner)), starts[1:]), strict=True):
            self._keep(number, mean[here], own[here], told.told[here])

    def _keep(self, number: int, mean: Array, variance: Array, told: Flags) -> None:
        """Keep what a hypothesis reads at further spots."""
        if number in self._seen:
            old = self._seen[number]
            mean, variance = np.concatenate([old.mean, mean]), np.concatenate([old.variance, variance])
            told = np.concatenate([old.told, told])
        self._seen[number] = _Seen(mean, variance, told)


def _rises(mean: Array, told: Flags) -> Array:
    """How much each spot stands for of a law, from those beside it in order of size (H, P); none where it is not told."""
    rise = np.gradient(mean, axis=1)
    for k in np.flatnonzero(~told.all(1)).tolist():
        many = int(told[k].sum())
        rise[k] = 0.0
        if many > 1:
            rise[k, :many] = np.gradient(mean[k, :many])
    return np.asarray(rise)
