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
    """One hypothesis at its spots: ``mean`` and ``variance`` (P, R) on the panel's scale, ``told`` (P,); ``moves`` (R,):
    which rows it moves away from what they are on a good board."""

    mean: Array
    variance: Array
    told: Flags
    moves: Flags


class Spots:
    """What hypotheses read at their spots on one panel; each spot is solved once."""

    def __init__(self, panel: Panel) -> None:
        self._panel = panel
        self._seen: dict[int, _Seen] = {}
        self._looked: set[tuple[int, int]] = set()  # hypothesis, spots asked for

    def moved(self, row: int, numbers: Ints, count: int) -> Flags:
        """Which of some hypotheses move a row by anything that counts, by ``count`` spots of each."""
        self._look(numbers, count)
        return np.array([self._seen[number].moves[row] for number in numbers.tolist()], dtype=bool)

    def stretches(self, row: int, numbers: Ints, count: int) -> Stretches:
        """What hypotheses ``numbers`` (ascending) read at a row of the panel, by ``count`` spots of each.

        In order of size what is read at the spots divides the law evenly, whatever number of axes moves it.
        """
        self._look(numbers, count)
        pieces = [self._law(self._seen[number], row, count) for number in numbers.tolist()]
        sizes = [len(piece[0]) for piece in pieces]
        mean, variance, rise, told = (np.concatenate(column) for column in zip(*pieces, strict=True))
        weight = np.repeat(1.0 / np.array(sizes), sizes)
        return Stretches(np.repeat(numbers, sizes), weight, mean, variance, rise, told)

    def beyond(self, rows: Sequence[int], left: Ints, right: Ints, count: int) -> Flags:
        """Which pairs of hypotheses (P,) some of these rows surely tell apart: all of one lies below the other there."""
        numbers = np.unique([left, right])
        self._look(numbers, count)
        ends = np.array([self._ends(self._seen[number], rows, count) for number in numbers.tolist()])
        one, two = (ends[np.searchsorted(numbers, side)] for side in (left, right))
        return np.asarray(((one[:, 0] > two[:, 1]) | (two[:, 0] > one[:, 1])).any(1))

    def same(self, rows: Sequence[int], left: Ints, right: Ints, count: int) -> Flags:
        """Which pairs of hypotheses read the same at every spot, row by row (P, R)."""
        numbers = np.unique([left, right])
        self._look(numbers, count)
        seen = [self._seen[number] for number in numbers.tolist()]
        mean, width = (
            np.array([np.broadcast_to(a, (count, len(rows))) for a in found])
            for found in zip(
                *((one.mean[:count, rows], np.sqrt(one.variance[:count, rows])) for one in seen), strict=True
            )
        )
        told = np.array([one.told[:count].all() for one in seen])
        out = np.zeros((len(left), len(rows)), dtype=bool)
        for k in range(0, len(left), PAIRS):
            one, two = (np.searchsorted(numbers, side[k : k + PAIRS]) for side in (left, right))
            alike = np.abs(mean[one] - mean[two]) < STILL * width[one]
            alike &= np.abs(width[one] - width[two]) < STILL / 2 * width[one]
            out[k : k + PAIRS] = alike.all(1) & (told[one] & told[two])[:, None]
        return out

    def _ends(self, seen: _Seen, rows: Sequence[int], count: int) -> tuple[Array, Array]:
        """Below and above which (R,) a hypothesis surely never reads."""
        if not seen.told[:count].all():
            return np.full(len(rows), -np.inf), np.full(len(rows), np.inf)
        mean, reach = seen.mean[:count, rows], REACH * np.sqrt(seen.variance[:count, rows])
        gap = np.diff(np.sort(mean, axis=0), axis=0).max(0, initial=0.0) / 2
        return (mean - reach).min(0) - gap, (mean + reach).max(0) + gap

    def _law(self, seen: _Seen, row: int, count: int) -> tuple[Array, Array, Array, Flags]:
        mean, told = seen.mean[:count, row], seen.told[:count]
        order = np.argsort(np.where(told, mean, np.inf), kind="stable")
        mean, told = mean[order], told[order]
        if told.all() and mean[-1] - mean[0] < STILL * np.sqrt(seen.variance[0, row]):
            return mean[:1], seen.variance[:1, row], np.zeros(1), told[:1]
        rise = np.zeros(len(mean))
        many = int(told.sum())
        if many > 1:
            rise[:many] = np.gradient(mean[:many])
        return mean, seen.variance[order, row], rise, told

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
        """Keep what a hypothesis reads at further spots. The good board comes first: the others are held against it."""
        if number in self._seen:
            old = self._seen[number]
            mean, variance = np.concatenate([old.mean, mean]), np.concatenate([old.variance, variance])
            told = np.concatenate([old.told, told])
        moves = np.zeros(mean.shape[1], dtype=bool)
        if number:
            good = self._seen[0]
            some = slice(None) if 1 in (len(good.told), len(told)) else slice(min(len(good.told), len(told)))
            off = np.abs(mean[some] - good.mean[some]) / np.sqrt(good.variance[some])
            off = np.maximum(off, np.abs(np.log(variance[some] / good.variance[some])))
            moves = np.asarray(~((off < STILL).all(0) & told.all() & good.told.all()))
        self._seen[number] = _Seen(mean, variance, told, moves)
