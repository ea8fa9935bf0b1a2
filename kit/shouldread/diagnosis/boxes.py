"""Cut what is unsure about a hypothesis into boxes in which every reading is a straight line.

Each hypothesis has axes: how bad its fault is, and values that nobody knows (a marking that cannot be read, stray
paths of the rest of the board). An axis runs evenly from 0 to 1 (the logarithm of ohms or of a factor). A box is
halved across the axis along which its middle lies farthest from the chord of its ends, until no row is more than
a fraction of its own spread off; edges are shared, so neighbours meet.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]

BEND = 0.75  # standard deviations that a box's middle may lie off the chord
FINE = 0.15  # the same along a value that is to be told: what else was read leaves much less of a deviation
SWELL = 2.5  # change of log variance along a box that is still one law
_MOVES = 0.25  # standard deviations: an axis that moves no row by as much never splits a box
_WIDE = 2.0  # standard deviations over a whole axis: halve it once even if its middle is on the chord (an S is)
_THINNEST = 1 / 64
_TORN = 1 / 16  # where a steady answer ends is found no closer: what never comes to rest takes longest to solve
_MOST = (1, 40, 64, 112, 160, 200)  # boxes of a hypothesis with 0, 1, ... axes that matter: unseen paths at several
# nodes that a coil or a shunt ties act together, and fewer boxes than this misjudge them by more than 1 nat


@dataclass(frozen=True, slots=True)
class Answer:
    """What L points read at R rows: ``mean`` (L, R), ``deviation`` (L, R) by part tolerances and the display, and
    ``told`` (L,): False where the circuit has no steady answer (its mean is then nan)."""

    mean: Array
    deviation: Array
    told: Flags


class Forward(Protocol):
    """Something that says what hypotheses read at points of their axes."""

    def at(self, owner: Ints, points: Array, middles: int) -> Answer:
        """Readings of hypothesis ``owner[l]`` at ``points[l]`` (L, D), each coordinate 0..1; the first so many are the
        middles of boxes, which may come to stay."""
        ...


@dataclass(frozen=True, slots=True)
class Region:
    """K boxes: hypothesis ``owner`` (K,), corners ``low`` and ``high`` (K, D)."""

    owner: Ints
    low: Array
    high: Array

    @property
    def middle(self) -> Array:
        """Middle of every box (K, D)."""
        return (self.low + self.high) / 2

    @property
    def log_weight(self) -> Array:
        """Log of the share of its hypothesis that each box holds (K,)."""
        return np.asarray(np.log(self.high - self.low).sum(1))


@dataclass(frozen=True, slots=True)
class Boxes:
    """Boxes with the affine law of each: mean (K, R) at its middle plus slope (K, R, D) per unit of axis.

    ``told`` (K,) as in Answer.
    """

    region: Region
    mean: Array
    slope: Array
    told: Flags


class _Asked:
    """Answers so far, each point of each hypothesis asked once."""

    def __init__(self, forward: Forward) -> None:
        self._forward = forward
        self._index: dict[bytes, int] = {}
        self._parts: list[Answer] = []
        self._all: Answer | None = None

    def at(self, owner: Ints, points: Array, middles: int) -> Answer:
        keys = [row.tobytes() for row in np.column_stack([owner.astype(float), points])]
        fresh = {key: k for k, key in reversed(list(enumerate(keys))) if key not in self._index}
        if fresh:
            order = sorted(fresh.values())
            first = sum(k < middles for k in order)
            self._parts.append(self._forward.at(owner[order], np.ascontiguousarray(points[order]), first))
            for k in order:
                self._index[keys[k]] = len(self._index)
            self._all = None
        if self._all is None:
            self._all = Answer(
                np.concatenate([part.mean for part in self._parts]),
                np.concatenate([part.deviation for part in self._parts]),
                np.concatenate([part.told for part in self._parts]),
            )
        found = np.array([self._index[key] for key in keys], dtype=np.intp)
        return Answer(self._all.mean[found], self._all.deviation[found], self._all.told[found])


@dataclass(frozen=True, slots=True)
class _Tested:
    """Boxes with what their middles and ends say: bend (B, D) in standard deviations, law of each box."""

    bend: Array
    move: Array
    mean: Array
    slope: Array
    told: Flags


def cut(forward: Forward, owners: Ints, exists: Flags, fine: Flags) -> Boxes:
    """Boxes of all hypotheses ``owners`` (their numbers); ``exists`` (H, D): which axes each of them has, ``fine`` (D,)
    which are cut finer.

    An axis that a hypothesis has not runs 0..1 like the others and moves nothing.
    """
    asked, bends = _Asked(forward), np.where(fine, FINE, BEND)
    low = np.zeros((len(owners), exists.shape[1]))
    high = np.ones_like(low)
    owner = owners.astype(np.intp)
    first = _tested(asked, owner, low, high, exists[owners], bends)
    live_row = (first.move > _MOVES) | (first.bend > BEND / 4)
    live = np.zeros_like(exists)
    live[owners] = live_row & exists[owners]
    root_slope = np.zeros((exists.shape[0], *first.slope.shape[1:]))
    root_slope[owners] = first.slope
    most = np.array(_MOST)[np.minimum(live.sum(1), len(_MOST) - 1)]
    done: list[tuple[Ints, Array, Array, _Tested]] = []
    count = np.bincount(owner, minlength=exists.shape[0])
    tested = first
    while len(owner):
        split = _chosen(tested, owner, low, high, live, count, most)
        stay = split < 0
        done.append((owner[stay], low[stay], high[stay], _picked(tested, stay)))
        go = ~stay
        np.add.at(count, owner[go], 1)
        owner, low, high = _halved(owner[go], low[go], high[go], split[go])
        if len(owner):
            tested = _tested(asked, owner, low, high, live[owner], bends)
            tested = _with_still_axes(tested, live[owner], root_slope[owner])
    return _gathered(done)


def _with_still_axes(tested: _Tested, live: Flags, root: Array) -> _Tested:
    slope = np.where(live[:, None, :], tested.slope, root)
    return _Tested(tested.bend, tested.move, tested.mean, slope, tested.told)


def _picked(tested: _Tested, chosen: Flags) -> _Tested:
    return _Tested(
        tested.bend[chosen], tested.move[chosen], tested.mean[chosen], tested.slope[chosen], tested.told[chosen]
    )


def _gathered(done: list[tuple[Ints, Array, Array, _Tested]]) -> Boxes:
    owner = np.concatenate([piece[0] for piece in done])
    low = np.concatenate([piece[1] for piece in done])
    order = np.lexsort((*(low[:, d] for d in reversed(range(low.shape[1]))), owner))
    high = np.concatenate([piece[2] for piece in done])
    mean, slope, told = (
        np.concatenate([getattr(piece[3], name) for piece in done]) for name in ("mean", "slope", "told")
    )
    return Boxes(Region(owner[order], low[order], high[order]), mean[order], slope[order], told[order])


def _tested(asked: _Asked, owner: Ints, low: Array, high: Array, axes: Flags, bends: Array) -> _Tested:
    """Ask middles and ends of boxes along their ``axes`` (B, D). ``bends`` (D,): how far a middle may lie off, as bend
    counts BEND there."""
    middle = (low + high) / 2
    box, axis = np.nonzero(axes)
    ends = np.repeat(middle[box][None], 2, axis=0)
    ends[0, np.arange(len(box)), axis] = low[box, axis]
    ends[1, np.arange(len(box)), axis] = high[box, axis]
    boxes, pairs = len(owner), len(box)
    every = np.concatenate([middle, ends[0], ends[1]])
    said = asked.at(np.concatenate([owner, owner[box], owner[box]]), every, boxes)
    centre, left = slice(0, boxes), slice(boxes, boxes + pairs)
    right = slice(boxes + pairs, boxes + 2 * pairs)
    mean = np.nan_to_num(said.mean)
    deviation = np.maximum(np.nan_to_num(said.deviation, nan=1.0), 1e-12)
    shape = (boxes, axes.shape[1])
    bend, move = np.zeros(shape), np.zeros(shape)
    ends_told = said.told[left][:, None], said.told[right][:, None]
    start, end = _straight_on(mean[left], mean[centre][box], mean[right], *ends_told)
    off = (start + end) / 2 - mean[centre][box]
    scale = deviation[centre][box]
    swell = np.abs(2 * np.log(deviation[left] / deviation[right])).max(1, initial=0.0)
    torn = (said.told[left] != said.told[centre][box]) | (said.told[right] != said.told[centre][box])
    curved = np.maximum(np.abs(off / scale).max(1, initial=0.0), BEND * swell / SWELL)
    bend[box, axis] = np.where(torn, np.inf, curved * (BEND / bends[axis]))
    move[box, axis] = np.abs((end - start) / scale).max(1, initial=0.0)
    slope = np.zeros((boxes, mean.shape[1], axes.shape[1]))
    slope[box, :, axis] = (end - start) / (high - low)[box, axis][:, None]
    told = said.told[centre]
    law = mean[centre].copy()
    offset = np.zeros((boxes, axes.shape[1], mean.shape[1]))
    offset[box, axis] = off
    lead = move.argmax(1)
    law += offset[np.arange(boxes), lead]
    return _Tested(bend, move, law, slope * told[:, None, None], told)


def _straight_on(start: Array, middle: Array, end: Array, starts: Flags, ends: Flags) -> tuple[Array, Array]:
    """Both ends of boxes, an end without a steady answer as if the line went straight on (level where neither has)."""
    on_start = np.where(starts, start, np.where(ends, 2 * middle - end, middle))
    return on_start, np.where(ends, end, np.where(starts, 2 * middle - start, middle))


def _chosen(tested: _Tested, owner: Ints, low: Array, high: Array, live: Flags, count: Ints, most: Ints) -> Ints:
    """Axis across which each box is halved, or -1. Where a hypothesis has boxes enough, the worst go first."""
    width = high - low
    whole = (width == 1.0) & (tested.move > _WIDE)
    wide = width > np.where(np.isinf(tested.bend), _TORN, _THINNEST)
    score = np.where(live[owner] & wide, np.where(whole, np.inf, tested.bend), 0.0)
    axis = score.argmax(1)
    worst = score[np.arange(len(owner)), axis]
    split = np.where(worst > BEND, axis, -1)
    volume = width.prod(1)
    rank = np.lexsort((-(np.minimum(worst, 1e6) * np.sqrt(volume)), owner))
    room = (most - count).copy()
    for b in rank:
        if split[b] >= 0:
            if room[owner[b]] <= 0:
                split[b] = -1
            else:
                room[owner[b]] -= 1
    return split


def _halved(owner: Ints, low: Array, high: Array, axis: Ints) -> tuple[Ints, Array, Array]:
    rows = np.arange(len(owner))
    cut_at = (low[rows, axis] + high[rows, axis]) / 2
    first_high, second_low = high.copy(), low.copy()
    first_high[rows, axis] = cut_at
    second_low[rows, axis] = cut_at
    return np.concatenate([owner, owner]), np.concatenate([low, second_low]), np.concatenate([first_high, high])


def overlaid(first: Region, second: Region) -> tuple[Ints, Ints, Region]:
    """All meetings of two cuttings (owners ascending): number of the box in each, and the region where they meet.

    Hypotheses that ``first`` has not are passed over.
    """
    met = [_meeting(first, second, *span) for span in _shared(first.owner, second.owner)]
    one = np.concatenate([pair[0] for pair in met]) if met else np.zeros(0, dtype=np.intp)
    two = np.concatenate([pair[1] for pair in met]) if met else np.zeros(0, dtype=np.intp)
    low, high = np.maximum(first.low[one], second.low[two]), np.minimum(first.high[one], second.high[two])
    return one, two, Region(first.owner[one], low, high)


def _shared(first: Ints, second: Ints) -> list[tuple[slice, slice]]:
    """Where each hypothesis that both have stands in each (owners ascending)."""
    both = np.intersect1d(first, second)
    ends = [np.searchsorted(owners, both, side=side) for owners in (first, second) for side in ("left", "right")]
    return [(slice(a, b), slice(c, d)) for a, b, c, d in zip(*(e.tolist() for e in ends), strict=True)]


def _meeting(first: Region, second: Region, here: slice, there: slice) -> tuple[Ints, Ints]:
    """Pairs of boxes of one hypothesis that meet. Only an axis that both have cut can keep two boxes apart."""
    cut = _is_cut(first, here) & _is_cut(second, there)
    meets = np.ones((here.stop - here.start, there.stop - there.start), dtype=bool)
    for axis in np.flatnonzero(cut):
        above = np.maximum(first.low[here, axis][:, None], second.low[there, axis])
        meets &= np.minimum(first.high[here, axis][:, None], second.high[there, axis]) > above
    one, two = np.nonzero(meets)
    return one + here.start, two + there.start


def _is_cut(region: Region, where: slice) -> Flags:
    return np.asarray((region.high[where] - region.low[where] < 1.0).any(0))
