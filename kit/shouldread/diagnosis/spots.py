"""Spots: what hypotheses read at a few points of their axes, the same points for all: a quick look at a panel.

Where two hypotheses turn the same values the same way, they read the same at every spot, however few there are; what
they differ by is found to within about one spot in all.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.panel import Asked, Panel, together
from shouldread.diagnosis.ways import Told

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


@dataclass(frozen=True, slots=True)
class _Level:
    """Hypotheses by as many spots of each: ``place`` of each in ``mean`` and ``variance`` (H, P, R) and ``told`` (H, P)."""

    place: dict[int, int]
    mean: Array
    variance: Array
    told: Flags

    @classmethod
    def of(cls, seen: Mapping[int, _Seen], count: int) -> "_Level":
        """What no axis of a hypothesis moves is the same at every spot."""
        every = list(seen.values())
        mean, variance = np.empty((2, len(every), count, every[0].mean.shape[1]))
        told = np.empty((len(every), count), dtype=bool)
        for k, one in enumerate(every):
            mean[k], variance[k], told[k] = one.mean[:count], one.variance[:count], one.told[:count]
        return cls({number: k for k, number in enumerate(seen)}, mean, variance, told)

    def joined(self, more: "_Level") -> "_Level":
        """Both, these first."""
        beyond = {number: len(self.place) + k for number, k in more.place.items()}
        both = ((getattr(one, name) for one in (self, more)) for name in ("mean", "variance", "told"))
        return _Level(self.place | beyond, *(np.concatenate(list(pair)) for pair in both))


class Spots:
    """What hypotheses read at their spots on one panel; each spot is solved once."""

    def __init__(self, panel: Panel) -> None:
        self._panel = panel
        self._seen: dict[int, _Seen] = {}
        self._levels: dict[int, _Level] = {}  # by the number of spots that were asked for

    @property
    def over(self) -> float:
        """From where on the panel's scale one value is shown like another."""
        return self._panel.scale.over

    def beyond(self, rows: Sequence[int], left: Ints, right: Ints, count: int) -> Flags:
        """Which pairs of hypotheses (P,) some of these rows surely tell apart: all of one lies below the other there."""
        numbers = np.unique([left, right])
        mean, variance, told = self.beside(numbers, rows, count)
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
        ends = (np.searchsorted(numbers, side) for side in (left, right))
        return are_same(*self.beside(numbers, rows, count), *ends)

    def beside(self, numbers: Ints, rows: Sequence[int], count: int) -> tuple[Array, Array, Flags]:
        """Means, variances and whether they are told (H, P, R) of hypotheses by ``count`` spots of each."""
        look([(self, numbers)], count)
        return self.seen(numbers, rows, count)

    def seen(self, numbers: Ints, rows: Sequence[int], count: int) -> tuple[Array, Array, Flags]:
        """The same of hypotheses that were looked at."""
        level = self._levels.get(count)
        fresh = {n: self._seen[n] for n in (0, *numbers.tolist()) if level is None or n not in level.place}
        if fresh:
            more = _Level.of(fresh, count)
            level = self._levels[count] = more if level is None else level.joined(more)
        assert level is not None
        where = np.ix_([level.place[number] for number in numbers.tolist()], range(count), rows)
        return level.mean[where], level.variance[where], level.told[where[0][:, 0, 0]][:, :, None].repeat(len(rows), 2)

    def wanted(self, numbers: Ints, count: int) -> Asked | None:
        """Spots of hypotheses, a good board among them, that are not solved yet; None where all of them are."""
        panel, level = self._panel, self._levels.get(count)
        asked = [n for n in (0, *numbers[numbers > 0].tolist()) if level is None or n not in level.place]
        if not asked:
            return None
        panel.board.prepare(asked, panel.context)
        have = [len(self._seen[number].told) if number in self._seen else 0 for number in asked]
        many = [count if panel.board.lanes(number, panel.context).axes(number) else 1 for number in asked]
        fresh = np.maximum(np.array(many, dtype=np.intp) - have, 0)
        if not fresh.any():
            return None
        place = np.arange(fresh.sum()) - np.repeat(np.cumsum(fresh) - fresh - have, fresh)
        points = spots(MOST, len(panel.board.variables.axes))[place]
        return Asked(panel, np.repeat(np.array(asked, dtype=np.intp), fresh), points)

    def keep(self, asked: Asked, told: Told) -> None:
        """Keep what was told of wanted spots, hypothesis by hypothesis."""
        panel, mean = self._panel, np.nan_to_num(told.mean)
        own = ((told.loads * panel.board.variables.doubt) ** 2).sum(2) + told.loose + panel.scale.variance(mean)
        starts = np.flatnonzero(np.diff(asked.owner, prepend=-1)).tolist()
        for low, high in pairwise([*starts, len(asked.owner)]):
            self._keep(int(asked.owner[low]), mean[low:high], own[low:high], told.told[low:high])

    def _keep(self, number: int, mean: Array, variance: Array, told: Flags) -> None:
        """Keep what a hypothesis reads at further spots."""
        if number in self._seen:
            old = self._seen[number]
            mean, variance = np.concatenate([old.mean, mean]), np.concatenate([old.variance, variance])
            told = np.concatenate([old.told, told])
        self._seen[number] = _Seen(mean, variance, told)


def look(at: Sequence[tuple[Spots, Ints]], count: int) -> None:
    """Solve the spots of hypotheses that are wanted and not seen yet, on all of these panels at once."""
    wanted = [(one, asked) for one, numbers in at if (asked := one.wanted(numbers, count)) is not None]
    for (one, asked), told in zip(wanted, together([asked for _, asked in wanted]), strict=True):
        one.keep(asked, told)


def are_same(mean: Array, variance: Array, told: Flags, left: Ints, right: Ints) -> Flags:
    """Which pairs (Q,) of what is beside each other (H, P, R) read the same at every spot, row by row (Q, R)."""
    width, sure = np.sqrt(variance), np.asarray(told.all(1))
    out = np.zeros((len(left), mean.shape[2]), dtype=bool)
    for k in range(0, len(left), PAIRS):
        one, two = left[k : k + PAIRS], right[k : k + PAIRS]
        alike = np.abs(mean[one] - mean[two]) < STILL * width[one]
        alike &= np.abs(width[one] - width[two]) < STILL / 2 * width[one]
        out[k : k + PAIRS] = alike.all(1) & sure[one] & sure[two]
    return out
