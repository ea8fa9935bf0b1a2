"""Panels: readings of one setting in one context that are predicted together, for every hypothesis asked for."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.abreast import THREADS, abreast
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
PIECE = 256  # points solved at a time
BENT = 0.3  # of the display's deviation: what dividing down may be off before a solve with the meter is worth it


@dataclass(frozen=True, slots=True)
class Told:
    """Predictions of L points at R rows on their scale: ``mean`` (L, R), ``loads`` (L, R, C), ``loose`` (L, R), the
    variance of what a line picks up, and ``told`` (L,)."""

    mean: Array
    loads: Array
    loose: Array
    told: NDArray[np.bool_]

    @property
    def arrays(self) -> tuple[Array, Array, Array, NDArray[np.bool_]]:
        """All of them."""
        return self.mean, self.loads, self.loose, self.told


class Way(Protocol):
    """How a setting is predicted."""

    def tell(self, lanes: Lanes, owner: Ints, points: Array, pairs: tuple[Pair, ...], scale: Scale) -> Told:
        """What ``pairs`` read with hypothesis ``owner[l]`` at ``points[l]`` (L, D)."""
        ...


class VoltsWay:
    """Volts as the meter's own input resistance lets them stand."""

    def tell(self, lanes: Lanes, owner: Ints, points: Array, pairs: tuple[Pair, ...], scale: Scale) -> Told:
        """The unloaded solve divided down by what each pair shows; a solve with the meter where that bends."""
        solved = lanes.solve(owner, points)
        told = np.asarray(solved.status == 0)
        inverse = solved.inverse(pairs)
        volts, ohms = solved.volts(pairs), solved.resistance(pairs, inverse)
        share = scale.meter.input_ohms / (scale.meter.input_ohms + np.maximum(ohms, 0.0))
        mean = volts * share
        loads = lanes.loads(solved, inverse)
        loads *= share[:, :, None]
        # a junction bends the divider by at most drop² / 2 Vt, and only where the drop reaches it
        bent = (volts - mean) ** 2 / (2 * THERMAL_VOLTS)
        far = told[:, None] & ~(bent < BENT * np.sqrt(scale.variance(np.nan_to_num(mean))))
        for row in np.flatnonzero(far.any(0)):
            which = np.flatnonzero(far[:, row])
            source, some = (scale.meter.input_ohms, 0.0), _some(solved, which)
            answer = _with_meter(lanes, pairs[row], source, owner[which], some.slots, some)
            mean[which, row], loads[which, row] = answer.mean[:, 0], answer.loads[:, 0]
            told[which] &= answer.told
        strayed = np.minimum(np.maximum(ohms, 0.0) * share * STRAY_AMPS, PICKED_UP)
        loose = np.where(told[:, None] & ~np.isnan(strayed), strayed**2, 0.0)
        mean[~told], loads[~told] = np.nan, 0.0
        return Told(mean, loads, loose, told)


class TipsWay:
    """Volts between the tips while the meter drives a board with nothing fed: ohms and diode."""

    def tell(self, lanes: Lanes, owner: Ints, points: Array, pairs: tuple[Pair, ...], scale: Scale) -> Told:
        """One solve a pair, with the meter's source there."""
        slots = lanes.slots(owner, points)
        volts, ohms = scale.source
        told = [_with_meter(lanes, pair, (ohms, volts / ohms), owner, slots) for pair in pairs]
        fine = np.all([one.told for one in told], axis=0)
        mean = np.concatenate([one.mean for one in told], axis=1)
        loads = np.concatenate([one.loads for one in told], axis=1)
        return Told(np.where(fine[:, None], mean, np.nan), loads, np.zeros_like(mean), fine)


class AmpsWay:
    """What a supply delivers, as its own display shows it."""

    def tell(self, lanes: Lanes, owner: Ints, points: Array, pairs: tuple[Pair, ...], scale: Scale) -> Told:
        """Amps out of the first pin of each supply; what tolerances do by differences, on small circuits only."""
        pins = [f"{name}.{lanes.network.circuit.part(name).pins[0]}" for name, _ in pairs]
        solved = lanes.solve(owner, points)
        told = np.asarray(solved.status == 0)
        mean = -np.stack([solved.pin_amps(pin) for pin in pins], axis=1)
        loads = np.zeros((len(points), len(pairs), lanes.columns))
        if lanes.columns <= FEW_COLUMNS:
            for lane in np.flatnonzero(told):
                slots = lanes.moved(solved.slots[lane])
                at = _some(solved, np.full(len(slots), lane))
                moved = lanes.network.solve(slots=slots, warm=at)
                amps = -np.stack([moved.pin_amps(pin) for pin in pins])
                loads[lane] = [lanes.by_column(row) for row in amps - mean[lane][:, None]]
        return Told(np.where(told[:, None], mean, np.nan), loads, np.zeros_like(mean), told)


def _some(points: Points, which: Ints) -> Points:
    return Points(points.network, points.raw[which], points.bits[which], points.status[which], points.slots[which])


def _with_meter(
    lanes: Lanes, pair: Pair, source: tuple[float, float], owner: Ints, slots: Array, warm: Points | None = None
) -> Told:
    solved = lanes.metered(pair, source, owner, slots, warm)
    inverse = solved.inverse([pair])
    loads = lanes.loads(solved, inverse)
    told = np.asarray(solved.status == 0)
    mean = solved.volts([pair])
    mean[~told], loads[~told] = np.nan, 0.0
    return Told(mean, loads, np.zeros_like(mean), told)


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
        """What hypothesis ``owner[l]`` reads at ``points[l]``: those of one structure together, pieces side by side."""
        jobs = self._pieces(owner)
        few = THREADS if len(owner) > PIECE else len(jobs) + 1
        answers = abreast(lambda job: self._tell(*job, owner, points), jobs, few)
        if len(jobs) == 1:
            return answers[0]
        told = Told(*(np.empty((len(owner), *a.shape[1:]), a.dtype) for a in answers[0].arrays))
        for (_, rows), answer in zip(jobs, answers, strict=True):
            for whole, some in zip(told.arrays, answer.arrays, strict=True):
                whole[rows] = some
        return told

    def _pieces(self, owner: Ints) -> list[tuple[Lanes, Ints]]:
        """Rows by the lanes that hold their hypotheses, no more of them at a time than are solved together."""
        out = []
        for lanes, rows in self.board.together(owner, self.context):
            out += [(lanes, rows[k : k + PIECE]) for k in range(0, len(rows), PIECE)]
        return sorted(out, key=lambda one: -len(one[1]))

    def _tell(self, lanes: Lanes, rows: Ints, owner: Ints, points: Array) -> Told:
        return self._way.tell(lanes, owner[rows], points[rows], self.pairs, self.scale)

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
            lanes = abreast(lambda number: self.board.lanes(number, self.context), fresh.tolist())
            for number, one in zip(fresh.tolist(), lanes, strict=True):
                exists[number, list(one.axes(number))] = True
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
