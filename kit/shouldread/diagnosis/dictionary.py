"""Fault dictionary: what suspects read at the probes that are offered, and which of them none tells apart."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.board import Context
from shouldread.diagnosis.glance import alike_at_a_glance
from shouldread.diagnosis.groups import groups_of, together_of, told_alike
from shouldread.diagnosis.laws import differ, laws_of
from shouldread.diagnosis.offers import Offer
from shouldread.diagnosis.panel import Panel, Panels
from shouldread.diagnosis.ranging import Ranging
from shouldread.diagnosis.scale import Scale
from shouldread.diagnosis.spots import MOST, REACH, STILL, Spots
from shouldread.diagnosis.stretches import Stretches

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]
Pairs = tuple[Ints, Ints]  # suspects, counted without healthy
# spots of each hypothesis at which a reading is looked at first, and again where that is not clear
LOOKS = (16, 64, MOST)
OFF = 1.5  # spots: a share told by spots is no farther off than so many of them


@dataclass(frozen=True, slots=True)
class _Look:
    """A row of a panel at which some pairs, by their places ``which`` among all of them, are looked at; -1 in ``left``
    and ``right`` stands for a good board."""

    panel: Panel
    row: int
    which: Ints
    left: Ints
    right: Ints

    def of(self, kept: Flags) -> "_Look":
        """Some of the pairs."""
        return replace(self, which=self.which[kept], left=self.left[kept], right=self.right[kept])


class Dictionary:
    """Which suspects no offered reading tells apart. Each pair is looked at once, and by itself.

    All are sorted at a glance by the volts of the first state. Those that readings left in play are sorted further, by
    the volts of all states and then by readings with nothing fed.
    """

    def __init__(self, panels: Panels, offered: Sequence[Offer]) -> None:
        self._panels = panels
        self._fed = [offer for offer in offered if offer.setting == "volts"]
        self._cold = [offer for offer in offered if offer.setting not in ("volts", "amps")]
        count = len(panels.board.hypotheses) - 1
        self._ranging = Ranging(panels, self._cold)
        self._spots: dict[Panel, Spots] = {}
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
        """Which suspects the volts of the first state do not tell apart at a glance (H-1, H-1)."""
        if not self._fed:
            return np.ones_like(self._known)
        context = self._fed[0].context
        rows = [self._panels.nodes.index(offer.pair) for offer in self._fed if offer.context == context]
        return alike_at_a_glance(self._panels.volts(context), rows, len(self._known))

    def _look_at(self, fresh: Pairs) -> None:
        """Find out whether these pairs are alike: at a few spots where that is clear, else at more of them."""
        apart, unsure = np.zeros(len(fresh[0]), dtype=bool), []
        for look in self._looks(fresh, apart):
            unsure += self._told(look, apart, LOOKS[0])
        for count in LOOKS[1:]:
            unsure = [left for look in unsure for left in self._told(look.of(~apart[look.which]), apart, count)]
        self._alike |= together_of(fresh[0][~apart], fresh[1][~apart], len(self._alike))
        self._known |= together_of(*fresh, len(self._known))

    def _told(self, look: _Look, apart: Flags, count: int) -> list[_Look]:
        """Note the pairs that a reading tells apart by so many spots; those for which more are needed are left."""
        if not len(look.which):
            return []
        spots = self._spots_on(look.panel)
        numbers = np.unique([look.left, look.right]) + 1
        moved = spots.moved(look.row, numbers, count)
        left, right = (
            np.where(moved[np.searchsorted(numbers, side + 1)], side, -1) for side in (look.left, look.right)
        )
        look = replace(look, left=left, right=right).of(left != right)
        if len(look.which):
            look = look.of(~spots.same([look.row], look.left + 1, look.right + 1, count)[:, 0])
        if not len(look.which):
            return []
        numbers = np.unique([look.left, look.right]) + 1
        seen = spots.stretches(look.row, numbers, count)
        ends = [np.searchsorted(numbers, side + 1) for side in (look.left, look.right)]
        far = _beyond(seen, numbers, *ends)
        apart[look.which[far]] = True
        look, ends = look.of(~far), [side[~far] for side in ends]
        between = differ(laws_of(seen, numbers, look.panel.scale.over), *ends)
        off = 2 * OFF / count if count < LOOKS[-1] else 0.0
        apart[look.which[~told_alike(between - off)]] = True
        unsure = told_alike(between - off) & ~told_alike(between + off)
        return [look.of(unsure)] if unsure.any() else []

    def _spots_on(self, panel: Panel) -> Spots:
        """What was seen at the spots of a panel."""
        return self._spots.setdefault(panel, Spots(panel))

    def _looks(self, pairs: Pairs, apart: Flags) -> Iterator[_Look]:
        """Where pairs may be told apart, those aside that are by then: volts of all states, readings with nothing fed."""
        for context in dict.fromkeys(offer.context for offer in self._fed):
            yield from self._fed_looks(context, pairs, apart)
        if not apart.all():
            self._ranging.ready(np.append(0, np.unique([side[~apart] for side in pairs]) + 1))
        for offer in self._cold:
            which = np.flatnonzero(~apart)
            if len(which):
                yield from self._cold_looks(offer, which, *(side[which] for side in pairs))

    def _fed_looks(self, context: Context, pairs: Pairs, apart: Flags) -> Iterator[_Look]:
        """Volts of the nodes in one state, where pairs may read differently that are not surely told apart by some."""
        panel = self._panels.volts(context)
        rows = [panel.pairs.index(offer.pair) for offer in self._fed if offer.context == context]
        which, spots = np.flatnonzero(~apart), self._spots_on(panel)
        if not len(which):
            return
        left, right = (side[which] + 1 for side in pairs)
        far = spots.beyond(rows, left, right, LOOKS[0])
        apart[which[far]] = True
        which, differing = which[~far], ~spots.same(rows, left[~far], right[~far], LOOKS[0])
        for row, differ_here in zip(rows, differing.T, strict=True):
            here = which[differ_here & ~apart[which]]
            if len(here):
                yield _Look(panel, row, here, *(side[here] for side in pairs))

    def _cold_looks(self, offer: Offer, which: Ints, left: Ints, right: Ints) -> Iterator[_Look]:
        """A reading with nothing fed, on every range that a pair is shown on.

        Faults of parts that are read or touch its ends are worked out, and those that move what it shows; all others
        leave a reading as on a good board.
        """
        near = self._of_parts([*offer.parts, *self._touching(offer)])
        asked = near[left] | near[right]
        which, left, right = which[asked], left[asked], right[asked]
        far = np.unique(np.concatenate([side[~near[side]] for side in (left, right)]))
        if not len(which):
            return
        near[far] = self._moves(far, offer)
        left, right = (np.where(near[side], side, -1) for side in (left, right))
        shown = self._ranging.ranges(np.unique([left, right]) + 1, offer)
        for within in sorted(set(shown.values()), key=lambda r: r.top):
            on = np.array([k - 1 for k, one in shown.items() if one == within])
            here = (np.isin(left, on) | np.isin(right, on)) & (left != right)
            place = self._panels.holding(
                offer.context, Scale(self._panels.board.meter, offer.setting, within), offer.pair
            )
            yield _Look(*place, which[here], left[here], right[here])

    def _moves(self, suspects: Ints, offer: Offer) -> Flags:
        """Whether suspects, as they mostly are, move a reading with nothing fed by anything that counts against its display."""
        panels, numbers = self._panels, np.append(0, suspects + 1)
        scale = Scale(panels.board.meter, offer.setting, self._ranging.ranges(numbers[:1], offer)[0])
        panel, _ = panels.holding(offer.context, scale, offer.pair)
        told = panel.predicted(numbers, np.full((len(numbers), len(panels.board.variables.axes)), 0.5))
        good, mean = told.mean[0, 0], told.mean[1:, 0]
        return np.asarray(~(np.abs(mean - good) < STILL * np.sqrt(scale.variance(told.mean[:1, 0]))))

    def _of_parts(self, names: Sequence[str]) -> Flags:
        """Which suspects (H-1,) are faults of some of these parts."""
        wanted = set(names)
        return np.array([not wanted.isdisjoint(one.parts) for one in self._panels.board.hypotheses.all[1:]])

    def _touching(self, offer: Offer) -> list[str]:
        """Parts on the nodes between which a reading is taken, ground aside."""
        ends = set(offer.pair) - {"0"}
        return [name for name, part in self._panels.board.circuit.netlist.items() if ends & set(part.nodes)]


def _beyond(seen: Stretches, numbers: Ints, left: Ints, right: Ints) -> Flags:
    """Which pairs have nothing in common: all of one lies below the other."""
    starts = np.searchsorted(seen.owner, numbers)
    reach = np.abs(seen.rise) / 2 + REACH * np.sqrt(seen.variance)
    low, high = np.minimum.reduceat(seen.mean - reach, starts), np.maximum.reduceat(seen.mean + reach, starts)
    told = np.logical_and.reduceat(seen.told, starts)
    return np.asarray(told[left] & told[right] & ((low[left] > high[right]) | (low[right] > high[left])))
