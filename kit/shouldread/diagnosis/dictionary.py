"""Fault dictionary: what suspects read at the probes that are offered, and which of them none tells apart."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.abreast import THREADS, abreast
from shouldread.diagnosis.board import Context
from shouldread.diagnosis.groups import groups_of, still_alike, together_of, told_alike
from shouldread.diagnosis.laws import differ, laws_at
from shouldread.diagnosis.mixture import bin_shares, edges_for
from shouldread.diagnosis.offers import Offer
from shouldread.diagnosis.panel import Panel, Panels
from shouldread.diagnosis.scale import Scale
from shouldread.diagnosis.stretches import stretches
from shouldread.diagnosis.variables import COLD
from shouldread.meter import Range

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]
Pairs = tuple[Ints, Ints]  # suspects, counted without healthy
EDGES = 160
_STILL = 0.02  # of the display's deviation: what moves a reading by less leaves it as it was


def shares_at(panel: Panel, numbers: Ints, row: int) -> Array:
    """Shares (H', bins) of what each hypothesis ``numbers`` (ascending) reads at a row; last bin: nothing steady."""
    told_at = stretches(panel, row, numbers)
    mean, variance, rise, told = told_at.mean, told_at.variance, told_at.rise, told_at.told
    edges = edges_for(mean[told], variance[told], rise[told], EDGES) if told.any() else np.zeros(1)
    bins = np.concatenate([bin_shares(mean, variance, rise, edges) * told[:, None], ~told[:, None]], axis=1)
    starts = np.searchsorted(told_at.owner, numbers)
    return np.asarray(np.add.reduceat(told_at.weight[:, None] * bins, starts, axis=0))


def range_of(panels: Panels, number: int, pair: tuple[str, str], setting: str) -> Range:
    """The range on which autoranging shows what a hypothesis reads with nothing fed, by its ohms at no volts."""
    rows = panels.board.meter.ranges(setting)
    if setting == "diode":
        return rows[-1]
    lanes = panels.board.lanes(number, Context(COLD))
    points = lanes.solve(np.array([number]), np.full((1, len(panels.board.variables.axes)), 0.5))
    ohms = float(points.resistance([pair])[0, 0])
    return next((r for r in rows if r.shows(ohms)), rows[-1])


class Dictionary:
    """Which suspects no offered reading tells apart. Each pair is looked at once, and by itself.

    All are sorted by the volts of the first state. Those that readings left in play are sorted further, by the volts
    of other states and then by readings with nothing fed.
    """

    def __init__(self, panels: Panels, offered: Sequence[Offer]) -> None:
        self._panels = panels
        self._fed = [offer for offer in offered if offer.setting == "volts"]
        self._cold = [offer for offer in offered if offer.setting not in ("volts", "amps")]
        count = len(panels.board.hypotheses) - 1
        self._known, self._alike = np.eye(count, dtype=bool), np.eye(count, dtype=bool)

    def groups(self, playing: Flags) -> Ints:
        """Group of each hypothesis (H,); ``playing`` (H,): which are in play. Healthy stands alone as group 0."""
        asked = playing[1:]
        left, right = np.nonzero(np.triu(self._first & asked[:, None] & asked & ~self._known, 1))
        self._look_at((left, right))
        together = self._alike & asked[:, None] & asked
        together |= self._first & ~asked[:, None] & ~asked
        return np.concatenate([[0], 1 + groups_of(together)]).astype(np.intp)

    @cached_property
    def _first(self) -> Flags:
        """Which suspects the volts of the first state leave alike (H-1, H-1)."""
        panels, count = self._panels, len(self._known)
        left, right = np.triu_indices(count, 1)
        mine = [offer for offer in self._fed if offer.context == self._fed[0].context]
        for low in range(0, len(mine), THREADS):
            if not len(left):
                break
            live, some = np.unique(np.concatenate([left, right])), mine[low : low + THREADS]
            panel = panels.volts(some[0].context)
            panel.sheet(live + 1)
            ends = np.searchsorted(live, left), np.searchsorted(live, right)
            jobs = [(panel, live + 1, panels.nodes.index(offer.pair), *ends) for offer in some]
            still = np.all(abreast(lambda job: _left_alike(*job), jobs, THREADS), axis=0)
            left, right = left[still], right[still]
        return together_of(left, right, count)

    def _look_at(self, fresh: Pairs) -> None:
        """Find out whether these pairs are alike."""
        left, right = self._by_cold(self._by_volts(fresh))
        self._alike |= together_of(left, right, len(self._alike))
        self._known |= together_of(*fresh, len(self._known))

    def _by_volts(self, pairs: Pairs) -> Pairs:
        """The pairs that the volts of other states leave alike."""
        for offer in self._fed:
            if offer.context != self._fed[0].context and len(pairs[0]):
                scale = Scale(self._panels.board.meter, "volts")
                pairs = self._still(pairs, *self._panels.holding(offer.context, scale, offer.pair))
        return pairs

    def _by_cold(self, pairs: Pairs) -> Pairs:
        """The pairs that readings with nothing fed leave alike.

        Faults of parts that are read or touch its ends are worked out, and those that move what it shows; all others
        leave a reading as on a good board.
        """
        for offer in self._cold:
            if not len(pairs[0]):
                break
            near = self._of_parts([*offer.parts, *self._touching(offer)])
            asked = near[pairs[0]] | near[pairs[1]]
            if asked.any():
                far = np.unique(np.concatenate([side[asked & ~near[side]] for side in pairs]))
                near[far] = self._moves(far, offer)
                some = tuple(np.where(near[side[asked]], side[asked], -1) for side in pairs)
                kept = ~asked
                kept[asked] = self._read_alike((some[0], some[1]), offer)
                pairs = pairs[0][kept], pairs[1][kept]
        return pairs

    def _moves(self, suspects: Ints, offer: Offer) -> Flags:
        """Whether suspects, as they mostly are, move a reading with nothing fed by anything that counts against its display."""
        panels, numbers = self._panels, np.append(0, suspects + 1)
        scale = Scale(panels.board.meter, offer.setting, range_of(panels, 0, offer.pair, offer.setting))
        panel, _ = panels.holding(offer.context, scale, offer.pair)
        told = panel.predicted(numbers, np.full((len(numbers), len(panels.board.variables.axes)), 0.5))
        good, mean = told.mean[0, 0], told.mean[1:, 0]
        return np.asarray(~(np.abs(mean - good) < _STILL * np.sqrt(scale.variance(told.mean[:1, 0]))))

    def _read_alike(self, pairs: Pairs, offer: Offer) -> Flags:
        """Which pairs a reading with nothing fed leaves alike on the ranges that either is shown on; -1 is a good board."""
        panels = self._panels
        shown = {
            k: range_of(panels, k + 1, offer.pair, offer.setting) for k in np.unique(np.concatenate(pairs)).tolist()
        }
        still = pairs[0] != pairs[1]
        out = np.ones(len(still), dtype=bool)
        for within in sorted(set(shown.values()), key=lambda r: r.top):
            on = np.array(
                [within in (shown[a], shown[b]) for a, b in zip(*(side.tolist() for side in pairs), strict=True)]
            )
            rows = np.flatnonzero(on & still & out)
            if len(rows):
                panel, row = panels.holding(
                    offer.context, Scale(panels.board.meter, offer.setting, within), offer.pair
                )
                out[rows] = self._alike_at((pairs[0][rows], pairs[1][rows]), panel, row)
        return out

    def _still(self, pairs: Pairs, panel: Panel, row: int) -> Pairs:
        still = self._alike_at(pairs, panel, row)
        return pairs[0][still], pairs[1][still]

    def _alike_at(self, pairs: Pairs, panel: Panel, row: int) -> Flags:
        """Which pairs a row of a panel leaves alike; -1 is a good board."""
        numbers = np.unique(np.concatenate(pairs)) + 1
        laws = laws_at(panel, numbers, row)
        ends = (np.searchsorted(numbers, side + 1) for side in pairs)
        return told_alike(differ(laws, *ends))

    def _of_parts(self, names: Sequence[str]) -> Flags:
        """Which suspects (H-1,) are faults of some of these parts."""
        wanted = set(names)
        return np.array([not wanted.isdisjoint(one.parts) for one in self._panels.board.hypotheses.all[1:]])

    def _touching(self, offer: Offer) -> list[str]:
        """Parts on the nodes between which a reading is taken, ground aside."""
        ends = set(offer.pair) - {"0"}
        return [name for name, part in self._panels.board.circuit.netlist.items() if ends & set(part.nodes)]


def _left_alike(panel: Panel, numbers: Ints, row: int, left: Ints, right: Ints) -> Flags:
    """Which pairs of the hypotheses ``numbers`` one reading leaves alike."""
    return still_alike(shares_at(panel, numbers, row), left, right)
