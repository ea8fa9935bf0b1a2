"""Mind: what a diagnosis is worked out with: a board's panels, groups and offers, through which readings pass."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from shouldread.circuit import Circuit, Remembered
from shouldread.diagnosis.belief import Rows, Weighed, weigh
from shouldread.diagnosis.board import Board
from shouldread.diagnosis.cells import Cells
from shouldread.diagnosis.climbing import climbing_log
from shouldread.diagnosis.dictionary import Dictionary
from shouldread.diagnosis.groups import MOST as MOST_IN_PLAY
from shouldread.diagnosis.groups import to_group
from shouldread.diagnosis.hypothesis import KnownCauses, Masses
from shouldread.diagnosis.judge import Judge
from shouldread.diagnosis.observed import seen_weights
from shouldread.diagnosis.offers import Offer, offers
from shouldread.diagnosis.panel import Panel, Panels
from shouldread.diagnosis.taken import Taken, take
from shouldread.meter import Meter, Observation, Reading, read_readings

Array = NDArray[np.float64]
Item = Reading | Observation

MOST = (2000, 12_000)  # cells that go on to the next panel: at first, and where that turns out too few
BLOCK = 6000  # cells weighed at once: keeps the memory bounded
OWN, OWN_MOST = 0.9, 16  # share of a hypothesis that its kept cells hold where so many of them are enough
LOST = 1e-3  # of all belief: more than that must not have lain in cells that were let go
_NEXT_TO_NOTHING = 1e-9
STEP, LIKELY = 24, 120  # suspects more that are thought about ahead at a time; those whose readings are
KEPT = 64  # groupings and cells kept, of what was asked last


@dataclass(frozen=True, slots=True)
class Standing:
    """How things stand after some readings: hypotheses weighed before (``weights``) and after them."""

    readings: tuple[Reading, ...]
    observations: tuple[Observation, ...]
    weights: Array
    weighed: Weighed

    @property
    def shares(self) -> Array:
        """Share of each hypothesis (H,), healthy first."""
        return self.weighed.hypothesis_share(len(self.weights))


class Mind:
    """A board with all that no reading changes; made once, it takes any set of readings quickly."""

    def __init__(self, circuit: Circuit, meter: Meter, masses: Masses, casebook: KnownCauses | None) -> None:
        self.board = Board(circuit, meter, shorts_vary=True, masses=masses, casebook=casebook)
        self.panels = Panels(self.board)
        self._groups: Remembered[NDArray[np.intp]] = Remembered(KEPT)
        self._stages: Remembered[tuple[Cells, Array]] = Remembered(KEPT)

    @cached_property
    def judge(self) -> Judge:
        """Who says whether a reading is as it should be."""
        known = self.panels
        if self.board.has_rest:
            known = Panels(Board(self.board.circuit, self.board.meter, with_rest=False))
        return Judge(known, self.panels)

    @cached_property
    def offers(self) -> tuple[Offer, ...]:
        """Every probe that may be taken."""
        return offers(self.board)

    @cached_property
    def _dictionary(self) -> Dictionary:
        """What no offered reading tells apart, as far as it was asked."""
        return Dictionary(self.panels, self.offers)

    def groups(self, shares: Array) -> NDArray[np.intp]:
        """Group of each hypothesis by the fault dictionary; those out of play only by volts of the first state."""
        playing = to_group(shares)
        return self._groups.get(self.board, playing.tobytes(), lambda: self._dictionary.groups(playing))

    def think_ahead(self, shares: Array) -> Iterator[None]:
        """Work out what a further reading may ask for, likely suspects first, some at each step.

        Which of those not in play nothing tells apart, and what the likely ones read in every state.
        """
        order = np.argsort(-shares, kind="stable")
        for many in range(MOST_IN_PLAY, len(order) + STEP, STEP):
            playing = np.zeros(len(order), dtype=bool)
            playing[order[:many]] = True
            self._dictionary.groups(playing)
            yield
        for context in dict.fromkeys(offer.context for offer in self.offers if offer.setting == "volts"):
            for many in range(STEP, min(LIKELY, len(order)) + STEP, STEP):
                self.panels.volts(context).sheet(np.sort(order[:many]))
                yield

    def read(self, items: Sequence[Item]) -> Standing:
        """Weigh every hypothesis against all items; their order plays no part."""
        readings = tuple(self._meant(i) for i in items if isinstance(i, Reading))
        seen = tuple(i for i in items if isinstance(i, Observation))
        weights = seen_weights(self.board.hypotheses, seen)
        climbing, climbing_none = climbing_log(self.panels, readings)
        taken = take(self.board, readings)
        where = [self.panels.holding(t.spot.context, t.scale, t.spot.pair) for t in taken]
        lifted = weights * np.exp(climbing - climbing_none)
        for most in MOST:
            cells, lost = self._cells(taken, where, weights, most)
            standing = Standing(readings, seen, weights, weigh(self.board, cells, Rows.of(taken, where), lifted))
            if standing.shares @ lost < LOST:
                break
        return standing

    def _meant(self, reading: Reading) -> Reading:
        """``ok`` without a band of its own means within the healthy one."""
        if reading.form != "ok" or np.isfinite(reading.high):
            return reading
        band = self.judge.band(reading)
        return Reading(
            reading.place,
            reading.text,
            reading.setting,
            reading.state,
            reading.to,
            reading.conditions,
            meter=self.board.meter,
            band=(band.low, band.high),
        )

    def _cells(
        self, taken: Sequence[Taken], where: Sequence[tuple[Panel, int]], weights: Array, most: int
    ) -> tuple[Cells, Array]:
        """The cells of all panels read, light ones let go where they are too many; share of each hypothesis let go."""
        numbers = np.arange(len(self.board.hypotheses))
        cells, lost = Cells.whole(numbers, len(self.board.variables.axes)), np.zeros(len(numbers))
        for panel in dict.fromkeys(panel for panel, _ in where):
            held = [k for k, (one, _) in enumerate(where) if one in (*cells.panels, panel)]
            rows = Rows.of([taken[k] for k in held], [where[k] for k in held])
            laid = partial(self._lightened, cells, panel, rows, weights, most)
            cells, gone = self._stages.get(self.board, (most, weights.tobytes(), rows.taken), laid)
            lost = np.maximum(lost, gone)
        return cells, lost

    def _lightened(self, before: Cells, panel: Panel, rows: Rows, weights: Array, most: int) -> tuple[Cells, Array]:
        """The cells that go on from a panel to the next, and the share of each hypothesis in those that do not."""
        cells = before.laid_on(panel)
        count = len(cells.region.owner)
        if count <= most:
            return cells, np.zeros(len(weights))
        blocks = np.array_split(np.arange(count), -(-count // BLOCK))
        logs = [logsumexp(weigh(self.board, cells.picked(b), rows, weights).log, axis=1) for b in blocks]
        chosen, gone = weightiest(np.concatenate(logs), cells.region.owner, most, len(weights))
        return cells.picked(chosen), gone


def weightiest(log: Array, owner: NDArray[np.intp], most: int, hypotheses: int) -> tuple[NDArray[np.intp], Array]:
    """The cells to keep, numbers ascending, and the share of each of so many hypotheses that lay in the others.

    Kept are the ``most`` heaviest, and of each hypothesis those that hold nearly all of it: a later panel may bring
    it back. Where belief lies in a hundred thousand cells, the lightest nine tenths of them hold about 1e-4 of it
    (measured on the sequencer, 12 readings); without a limit they fill the memory.
    """
    order = np.lexsort((-log, owner))
    ranked, heaps = log[order], owner[order]
    start = np.searchsorted(heaps, heaps)  # where each one's hypothesis begins
    with np.errstate(invalid="ignore"):
        share = np.nan_to_num(np.exp(ranked - ranked[start]))
    total = np.bincount(heaps, share, minlength=hypotheses)
    before = np.cumsum(share) - share
    before = (before - before[start]) / np.maximum(total[heaps], 1e-300)
    place = np.arange(len(order)) - start
    own = (place == 0) | ((before < OWN) & (place < OWN_MOST))
    heavy = ranked > log.max() + np.log(_NEXT_TO_NOTHING)
    if len(log) > most:
        heavy &= ranked >= np.partition(log, -most)[-most]
    keep = own | heavy
    held = np.bincount(heaps, share * keep, minlength=hypotheses)
    return np.sort(order[keep]), np.where(total > 0, 1 - held / np.maximum(total, 1e-300), 0.0)


def items_of(mind: Mind, readings: str | Iterable[Item]) -> tuple[Item, ...]:
    """Readings and observations out of text, or as they are."""
    if isinstance(readings, str):
        return read_readings(readings, circuit=mind.board.circuit, meter=mind.board.meter)
    return tuple(readings)
