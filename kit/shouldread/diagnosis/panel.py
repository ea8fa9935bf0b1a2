"""Panels: readings of one setting in one context that are predicted together, for every hypothesis asked for."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.abreast import THREADS, abreast
from shouldread.diagnosis.board import Board, Context
from shouldread.diagnosis.boxes import Answer, Boxes, Region, cut
from shouldread.diagnosis.lanes import Lanes, Meters
from shouldread.diagnosis.scale import Scale
from shouldread.diagnosis.ways import WAYS, Told, tips_told

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Pair = tuple[str, str]

PIECE = 256  # points solved at a time
WORTH = 30_000  # node volts from which solving them is worth a second thread


@dataclass(frozen=True, slots=True)
class Sheet:
    """Boxes of every hypothesis asked for so far; at their middles loads (K, R, C) and variance of their own (K, R)."""

    boxes: Boxes
    loads: NDArray[np.float32]
    loose: Array


class Panel:
    """Readings of one setting (and range) in one context: one straight scale, several pairs of places."""

    def __init__(self, board: Board, context: Context, scale: Scale, pairs: tuple[Pair, ...]) -> None:
        self.board, self.context, self.scale, self.pairs = board, context, scale, pairs
        self._sheet: Sheet | None = None
        self._done: set[int] = set()
        self._middles: dict[tuple[int, bytes], tuple[NDArray[np.float32], Array]] = {}
        self._usual: dict[int, Array] = {}

    def at(self, owner: Ints, points: Array, middles: int) -> Answer:
        """Readings at points of several hypotheses (the ``Forward`` of ``boxes``)."""
        told = self.predicted(owner, points)
        for k in range(middles):
            loads = told.loads[k].astype(np.float32)
            self._middles[int(owner[k]), points[k].tobytes()] = loads, told.loose[k]
        spread = (told.loads**2).sum(2) + told.loose + self.scale.variance(np.nan_to_num(told.mean))
        return Answer(told.mean, np.sqrt(np.where(told.told[:, None], spread, 1.0)), told.told)

    def predicted(self, owner: Ints, points: Array) -> Told:
        """What hypothesis ``owner[l]`` reads at ``points[l]``."""
        way = WAYS.get(self.scale.setting)
        if way is None:
            return together([Asked(self, owner, points)])[0]

        def tell(lanes: Lanes, rows: Ints) -> Told:
            return way.tell(lanes, owner[rows], points[rows], self.pairs, self.scale)

        return _in_pieces(self.board, self.context, owner, tell)

    def usual(self, number: int) -> Array:
        """What one hypothesis reads (R,) on the scale, all that is unsure at its middle; nan where nothing steady is."""
        if number not in self._usual:
            middle = np.full((1, len(self.board.variables.axes)), 0.5)
            self._usual[number] = self.predicted(np.array([number]), middle).mean[0]
        return self._usual[number]

    def sheet(self, numbers: Ints) -> Sheet:
        """Boxes of at least these hypotheses."""
        fresh = np.array(sorted(set(numbers.tolist()) - self._done), dtype=np.intp)
        if len(fresh):
            exists = np.zeros((int(fresh.max()) + 1, len(self.board.variables.axes)), dtype=bool)
            self.board.prepare(fresh.tolist(), self.context)
            for number in fresh.tolist():
                exists[number, list(self.board.lanes(number, self.context).axes(number))] = True
            boxes = cut(self, fresh, exists, self.board.variables.values)
            self._sheet = _joined(self._sheet, self._filled(boxes))
            self._done |= set(fresh.tolist())
        assert self._sheet is not None
        return self._sheet

    def _filled(self, boxes: Boxes) -> Sheet:
        """Boxes with the loads at their middles, which mostly were worked out as they were cut."""
        owner, middle = boxes.region.owner, boxes.region.middle
        loads = np.zeros((len(owner), len(self.pairs), len(self.board.variables.columns)), dtype=np.float32)
        loose = np.zeros(loads.shape[:2])
        rows = []
        for k, number in enumerate(owner.tolist()):
            known = self._middles.get((number, middle[k].tobytes()))
            if known is None:
                rows.append(k)
            else:
                loads[k], loose[k] = known
        if rows:
            told = self.predicted(owner[rows], middle[rows])
            loads[rows], loose[rows] = told.loads, told.loose
        self._middles.clear()
        return Sheet(boxes, loads, loose)


@dataclass(frozen=True, slots=True)
class Asked:
    """A panel, and points (L, D) of hypotheses ``owner`` (L,) at which it is asked for."""

    panel: Panel
    owner: Ints
    points: Array


def together(asked: Sequence[Asked]) -> list[Told]:
    """What panels of one board in one context say: those that drive a board with nothing fed, all solved side by side."""
    if not asked or asked[0].panel.scale.setting in WAYS:
        return [one.panel.predicted(one.owner, one.points) for one in asked]
    first, sizes = asked[0].panel, [len(one.owner) for one in asked]
    owner, points = (np.concatenate([getattr(one, name) for one in asked]) for name in ("owner", "points"))
    which, pairs = np.repeat(np.arange(len(asked)), sizes), tuple(one.panel.pairs[0] for one in asked)
    volts, ohms = np.array([one.panel.scale.source for one in asked]).T

    def tell(lanes: Lanes, rows: Ints) -> Told:
        of = which[rows]
        meters = Meters(pairs, of, ohms[of], volts[of] / ohms[of])
        return tips_told(lanes, meters, owner[rows], lanes.slots(owner[rows], points[rows]))

    told, ends = _in_pieces(first.board, first.context, owner, tell), np.cumsum([0, *sizes])
    return [told.of(slice(low, high)) for low, high in pairwise(ends.tolist())]


def _in_pieces(board: Board, context: Context, owner: Ints, tell: Callable[[Lanes, Ints], Told]) -> Told:
    """What a job tells of the rows of each hypothesis: those of one structure together, no more of them at a time than are
    solved together, pieces side by side."""
    jobs: list[tuple[Lanes, Ints]] = []
    for lanes, rows in board.together(owner, context):
        jobs += [(lanes, rows[k : k + PIECE]) for k in range(0, len(rows), PIECE)]
    jobs.sort(key=lambda one: -len(one[1]))
    few = THREADS if len(owner) * len(board.circuit.nodes) > WORTH else len(jobs) + 1
    answers = abreast(lambda job: tell(*job), jobs, few)
    if len(jobs) == 1:
        return answers[0]
    told = Told(*(np.empty((len(owner), *a.shape[1:]), a.dtype) for a in answers[0].arrays))
    for (_, rows), answer in zip(jobs, answers, strict=True):
        for whole, some in zip(told.arrays, answer.arrays, strict=True):
            whole[rows] = some
    return told


class Panels:
    """All panels of a board, each made once."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.nodes: tuple[Pair, ...] = tuple((n, "0") for n in board.circuit.nodes if n != "0")
        self._made: dict[tuple[Context, Scale, tuple[Pair, ...]], Panel] = {}

    def made(self, context: Context, scale: Scale, pairs: tuple[Pair, ...]) -> Panel:
        """The panel of these pairs."""
        key = (context, scale, pairs)
        if key not in self._made:
            self._made[key] = Panel(self.board, context, scale, pairs)
        return self._made[key]

    def volts(self, context: Context) -> Panel:
        """Volts of every node, read together."""
        return self.made(context, Scale(self.board.meter, "volts"), self.nodes)

    def holding(self, context: Context, scale: Scale, pair: Pair) -> tuple[Panel, int]:
        """The panel that a pair is read on, and its number there: nodes on volts share one, others stand alone."""
        if scale.setting == "volts" and not scale.across and pair in self.nodes:
            return self.volts(context), self.nodes.index(pair)
        return self.made(context, scale, (pair,)), 0


def _joined(old: Sheet | None, new: Sheet) -> Sheet:
    if old is None:
        return new
    a, b = old.boxes, new.boxes
    owner = np.concatenate([a.region.owner, b.region.owner])
    order = np.argsort(owner, kind="stable")
    low, high = (np.concatenate([getattr(x.region, end) for x in (a, b)])[order] for end in ("low", "high"))
    mean, slope, told = (
        np.concatenate([getattr(x, name) for x in (a, b)])[order] for name in ("mean", "slope", "told")
    )
    parts = [np.concatenate([getattr(x, name) for x in (old, new)])[order] for name in ("loads", "loose")]
    return Sheet(Boxes(Region(owner[order], low, high), mean, slope, told), *parts)
