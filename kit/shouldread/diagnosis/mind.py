"""Mind: what a diagnosis is worked out with: a board's panels, groups and offers, through which readings pass."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from shouldread.circuit import Circuit
from shouldread.diagnosis.belief import Rows, Weighed, weigh
from shouldread.diagnosis.board import Board
from shouldread.diagnosis.cells import Cells
from shouldread.diagnosis.climbing import climbing_log
from shouldread.diagnosis.dictionary import alike_by_volts, group_numbers
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

MANY = 6000  # cells above which those that hold next to nothing are let go before the next panel is laid on
MOST = 12_000  # cells that go on to the next panel
_NEXT_TO_NOTHING = 1e-9
KEPT = 64  # groupings kept for sets of hypotheses in play


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
        self._groups: dict[bytes, NDArray[np.intp]] = {}

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
    def _alike_at_first(self) -> NDArray[np.bool_]:
        """Which suspects the volts of the first state leave alike."""
        others = [o for o in self.offers if o.setting == "volts"]
        first = [o for o in others if o.context == others[0].context]
        return alike_by_volts(self.panels, first, *np.triu_indices(len(self.board.hypotheses) - 1, 1))

    def groups(self, shares: Array) -> NDArray[np.intp]:
        """Group of each hypothesis by the fault dictionary; those out of play only by volts of the first state."""
        playing = to_group(shares)
        key = playing.tobytes()
        if key not in self._groups:
            if len(self._groups) >= KEPT:
                self._groups.clear()
            self._groups[key] = group_numbers(self.panels, self.offers, self._alike_at_first, playing)
        return self._groups[key]

    def read(self, items: Sequence[Item]) -> Standing:
        """Weigh every hypothesis against all items; their order plays no part."""
        readings = tuple(self._meant(i) for i in items if isinstance(i, Reading))
        seen = tuple(i for i in items if isinstance(i, Observation))
        weights = seen_weights(self.board.hypotheses, seen)
        climbing, climbing_none = climbing_log(self.panels, readings)
        taken = take(self.board, readings)
        where = [self.panels.holding(t.spot.context, t.scale, t.spot.pair) for t in taken]
        cells = self._cells(taken, where, weights)
        lifted = weights * np.exp(climbing - climbing_none)
        return Standing(readings, seen, weights, weigh(self.board, cells, Rows.of(taken, where), lifted))

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

    def _cells(self, taken: Sequence[Taken], where: Sequence[tuple[Panel, int]], weights: Array) -> Cells:
        """The cells of all panels read, those that hold next to nothing let go where there are too many."""
        numbers = np.arange(len(self.board.hypotheses))
        cells = Cells.whole(numbers, len(self.board.variables.axes))
        for panel in dict.fromkeys(panel for panel, _ in where):
            cells = cells.laid_on(panel)
            if len(cells.region.owner) > MANY:
                held = [k for k, (one, _) in enumerate(where) if one in cells.panels]
                rows = Rows.of([taken[k] for k in held], [where[k] for k in held])
                blocks = np.array_split(np.arange(len(cells.region.owner)), -(-len(cells.region.owner) // MANY))
                logs = [logsumexp(weigh(self.board, cells.picked(b), rows, weights).log, axis=1) for b in blocks]
                cells = cells.picked(weightiest(np.concatenate(logs), cells.region.owner))
        return cells


def weightiest(log: Array, owner: NDArray[np.intp]) -> NDArray[np.intp]:
    """The cells that hold more than next to nothing, ``MOST`` of them at most, and always the best of a hypothesis.

    Where belief lies in a hundred thousand cells, the lightest nine tenths of them hold about 1e-4 of it (measured on
    the sequencer, 12 readings), a hundredth of the chance that a reading is wrong; without a limit they fill the memory.
    """
    least = log.max() + np.log(_NEXT_TO_NOTHING)
    if len(log) <= MOST:
        return np.flatnonzero(log > least)
    best = np.full(int(owner.max()) + 1, -np.inf)
    np.maximum.at(best, owner, log)
    heavy = log >= np.partition(log, -MOST)[-MOST]
    return np.flatnonzero((log > least) & (heavy | (log == best[owner])))


def items_of(mind: Mind, readings: str | Iterable[Item]) -> tuple[Item, ...]:
    """Readings and observations out of text, or as they are."""
    if isinstance(readings, str):
        return read_readings(readings, circuit=mind.board.circuit, meter=mind.board.meter)
    return tuple(readings)
