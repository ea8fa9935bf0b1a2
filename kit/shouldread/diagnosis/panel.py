"""Panels: readings of one setting in one context that are predicted together, for every hypothesis asked for."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.abreast import abreast
from shouldread.diagnosis.board import Board, Context
from shouldread.diagnosis.boxes import Answer, Boxes, Region, cut
from shouldread.diagnosis.lanes import Lanes
from shouldread.diagnosis.scale import Scale
from shouldread.parts import THERMAL_VOLTS
from shouldread.solve import Points

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Pair = tuple[str, str]

STRAY_AMPS = 1e-6  # that leak into a line from its neighbours (own judgement) ...
PICKED_UP = 0.02  # ... up to as many volts
FEW_COLUMNS = 60  # tolerances up to which their part in a supply's amps is worked out; beyond it counts as a tenth
BENT = 0.3  # of the display's deviation: what dividing down may be off before a solve with the meter is worth it


@dataclass(frozen=True, slots=True)
class Told:
    """Predictions of L points at R rows on their scale: ``mean`` (L, R), ``loads`` (L, R, C), ``loose`` (L, R), the
    variance of what a line picks up, and ``told`` (L,)."""

    mean: Array
    loads: Array
    loose: Array
    told: NDArray[np.bool_]


class Way(Protocol):
    """How a setting is predicted."""

    def tell(self, lanes: Lanes, points: Array, pairs: tuple[Pair, ...], scale: Scale) -> Told:
        """What ``pairs`` read at points of one hypothesis."""
        ...


class VoltsWay:
    """Volts as the meter's own input resistance lets them stand."""

    def tell(self, lanes: Lanes, points: Array, pairs: tuple[Pair, ...], scale: Scale) -> Told:
        """The unloaded solve divided down by what each pair shows; a solve with the meter where that bends."""
        slots = lanes.slots(points)
        solved = lanes.network.solve(slots=slots)
        told = np.asarray(solved.status == 0)
        inverse = solved.inverse(pairs)
        volts, ohms = solved.volts(pairs), solved.resistance(pairs, inverse)
        share = scale.meter.input_ohms / (scale.meter.input_ohms + np.maximum(ohms, 0.0))
        mean = volts * share
        loads = lanes.loads(solved, solved.sensitivity(pairs, inverse)) * share[:, :, None]
        # a junction bends the divider by at most drop² / 2 Vt, and only where the drop reaches it
        bent = (volts - mean) ** 2 / (2 * THERMAL_VOLTS)
        far = told[:, None] & ~(bent < BENT * np.sqrt(scale.variance(np.nan_to_num(mean))))
        for row in np.flatnonzero(far.any(0)):
            which = np.flatnonzero(far[:, row])
            answer = _with_meter(lanes, pairs[row], slots[which], (scale.meter.input_ohms, 0.0), _some(solved, which))
            mean[which, row], loads[which, row] = answer.mean[:, 0], answer.loads[:, 0]
            told[which] &= answer.told
        strayed = np.minimum(np.maximum(ohms, 0.0) * share * STRAY_AMPS, PICKED_UP)
        loose = np.where(told[:, None] & ~np.isnan(strayed), strayed**2, 0.0)
        return Told(np.where(told[:, None], mean, np.nan), np.where(told[:, None, None], loads, 0.0), loose, told)


class TipsWay:
    """Volts between the tips while the meter drives a board with nothing fed: ohms and diode."""

    def tell(self, lanes: Lanes, points: Array, pairs: tuple[Pair, ...], scale: Scale) -> Told:
        """One solve a pair, with the meter's source there."""
        slots = lanes.slots(points)
        volts, ohms = scale.source
        told = [_with_meter(lanes, pair, slots, (ohms, volts / ohms), None) for pair in pairs]
        fine = np.all([one.told for one in told], axis=0)
        mean = np.concatenate([one.mean for one in told], axis=1)
        loads = np.concatenate([one.loads for one in told], axis=1)
        return Told(np.where(fine[:, None], mean, np.nan), loads, np.zeros_like(mean), fine)


class AmpsWay:
    """What a supply delivers, as its own display shows it."""

    def tell(self, lanes: Lanes, points: Array, pairs: tuple[Pair, ...], scale: Scale) -> Told:
        """Amps out of the first pin of each supply; what tolerances do by differences, on small circuits only."""
        pins = [f"{name}.{lanes.network.circuit.part(name).pins[0]}" for name, _ in pairs]
        slots = lanes.slots(points)
        solved = lanes.network.solve(slots=slots)
        told = np.asarray(solved.status == 0)
        mean = -np.stack([solved.pin_amps(pin) for pin in pins], axis=1)
        loads = np.zeros((len(points), len(pairs), lanes.columns))
        if lanes.columns <= FEW_COLUMNS:
            for lane in np.flatnonzero(told):
                moved = lanes.network.solve(slots=lanes.moved(slots[lane]))
                amps = -np.stack([moved.pin_amps(pin) for pin in pins], axis=1)
                loads[lane] = lanes.by_column(amps - mean[lane])
        return Told(np.where(told[:, None], mean, np.nan), loads, np.zeros_like(mean), told)


def _some(points: Points, which: Ints) -> Points:
    return Points(points.network, points.raw[which], points.bits[which], points.status[which], points.slots[which])


def _with_meter(lanes: Lanes, pair: Pair, slots: Array, source: tuple[float, float], warm: Points | None) -> Told:
    beside = np.tile(np.array(source), (len(slots), 1))
    solved = lanes.loaded(pair).solve(slots=np.hstack([slots, beside]), warm=warm)
    inverse = solved.inverse([pair])
    loads = lanes.loads(solved, solved.sensitivity([pair], inverse))
    told = np.asarray(solved.status == 0)
    mean = np.where(told[:, None], solved.volts([pair]), np.nan)
    return Told(mean, np.where(told[:, None, None], loads, 0.0), np.zeros_like(mean), told)


WAYS: dict[str, Way] = {"volts": VoltsWay(), "ohms": TipsWay(), "diode": TipsWay(), "amps": AmpsWay()}


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
        self._way = WAYS[scale.setting]
        self._sheet: Sheet | None = None
        self._done: set[int] = set()
        self._last: dict[int, tuple[bytes, Told]] = {}
        self._usual: dict[int, Array] = {}

    def at(self, owner: Ints, points: Array) -> Answer:
        """Readings at points of several hypotheses (the ``Forward`` of ``boxes``)."""
        mean = np.full((len(owner), len(self.pairs)), np.nan)
        deviation = np.ones_like(mean)
        fine = np.zeros(len(owner), dtype=bool)
        asked = _rows_of(owner)
        answers = abreast(lambda one: self.tell(self.board.lanes(one[0], self.context), points[one[1]]), asked)
        for (number, rows), told in zip(asked, answers, strict=True):
            if len(rows) == 1:
                self._last[number] = points[rows[0]].tobytes(), told
            mean[rows], fine[rows] = told.mean, told.told
            spread = (told.loads**2).sum(2) + told.loose + self.scale.variance(np.nan_to_num(told.mean))
            deviation[rows] = np.sqrt(spread)
        return Answer(mean, deviation, fine)

    def tell(self, lanes: Lanes, points: Array) -> Told:
        """What one hypothesis reads at points of its axes."""
        return self._way.tell(lanes, points, self.pairs, self.scale)

    def usual(self, number: int) -> Array:
        """What one hypothesis reads (R,) on the scale, all that is unsure at its middle; nan where nothing steady is."""
        if number not in self._usual:
            middle = np.full((1, len(self.board.variables.axes)), 0.5)
            self._usual[number] = self.tell(self.board.lanes(number, self.context), middle).mean[0]
        return self._usual[number]

    def sheet(self, numbers: Ints) -> Sheet:
        """Boxes of at least these hypotheses."""
        fresh = np.array(sorted(set(numbers.tolist()) - self._done), dtype=np.intp)
        if len(fresh):
            exists = np.zeros((int(fresh.max()) + 1, len(self.board.variables.axes)), dtype=bool)
            lanes = abreast(lambda number: self.board.lanes(number, self.context), fresh.tolist())
            for number, one in zip(fresh, lanes, strict=True):
                exists[number, list(one.axes)] = True
            boxes = cut(self, fresh, exists)
            self._sheet = _joined(self._sheet, self._filled(boxes))
            self._done |= set(fresh.tolist())
        assert self._sheet is not None
        return self._sheet

    def _filled(self, boxes: Boxes) -> Sheet:
        """Boxes with the loads at their middles; what was worked out for a single one is taken as it is."""
        owner, middle = boxes.region.owner, boxes.region.middle
        loads = np.zeros((len(owner), len(self.pairs), len(self.board.variables.columns)), dtype=np.float32)
        loose = np.zeros(loads.shape[:2])
        asked = _rows_of(owner)
        for (_, rows), told in zip(asked, abreast(lambda one: self._at_middles(*one, middle), asked), strict=True):
            loads[rows], loose[rows] = told.loads, told.loose
        return Sheet(boxes, loads, loose)

    def _at_middles(self, number: int, rows: Ints, middle: Array) -> Told:
        """What a hypothesis reads at the middles of its boxes; of a single box that is known already."""
        point, told = self._last.pop(number, (b"", None))
        if told is None or len(rows) > 1 or point != middle[rows[0]].tobytes():
            told = self.tell(self.board.lanes(number, self.context), middle[rows])
        return told


def _rows_of(owner: Ints) -> list[tuple[int, Ints]]:
    """Every hypothesis with the rows that are its own."""
    order = np.argsort(owner, kind="stable")
    numbers, starts = np.unique(owner[order], return_index=True)
    return list(zip(numbers.tolist(), np.split(order, starts[1:]), strict=True))


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
