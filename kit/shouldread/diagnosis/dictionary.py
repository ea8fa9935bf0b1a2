"""Fault dictionary: what suspects read at the probes that are offered, and which of them none tells apart."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.board import Context
from shouldread.diagnosis.glance import alike_at_a_glance
from shouldread.diagnosis.groups import groups_of, together_of, told_alike
from shouldread.diagnosis.laws import differ
from shouldread.diagnosis.offers import Offer
from shouldread.diagnosis.panel import Asked, Panel, Panels, together
from shouldread.diagnosis.ranging import Ranging
from shouldread.diagnosis.scale import Scale
from shouldread.diagnosis.sights import Sights, beyond
from shouldread.diagnosis.spots import MOST, STILL, Spots
from shouldread.meter import Range

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]
Pairs = tuple[Ints, Ints]  # suspects, counted without healthy
# spots of each hypothesis at which a reading is looked at first, and again where that is not clear
LOOKS = (16, 64, MOST)
ABREAST = 4  # readings with nothing fed that are looked at together: one may tell apart what the others need not
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


@dataclass(frozen=True, slots=True)
class _Sighted:
    """Pairs (Q,) of several looks: of which look, which pair, the sights of both."""

    at: Ints
    which: Ints
    left: Ints
    right: Ints

    @classmethod
    def of_looks(cls, looks: Sequence[_Look], sights: Sights) -> "_Sighted":
        """All pairs of the looks."""
        at = np.repeat(np.arange(len(looks)), [len(look.which) for look in looks])
        which, left, right = (
            np.concatenate([getattr(look, name) for look in looks]) for name in ("which", "left", "right")
        )
        return cls(at, which, sights.place(at, left + 1), sights.place(at, right + 1))

    def of(self, kept: Flags) -> "_Sighted":
        """Some of the pairs."""
        return _Sighted(self.at[kept], self.which[kept], self.left[kept], self.right[kept])

    def with_still(self, moved: Flags, sights: Sights) -> "_Sighted":
        """The pairs, what moves nothing as the good board there; those of which neither moves anything are left out."""
        good = sights.place(self.at, np.zeros_like(self.at))
        left, right = (np.where(moved[side], side, good) for side in (self.left, self.right))
        return replace(self, left=left, right=right).of(left != right)

    def places(self, which: Ints) -> Pairs:
        """The places of both in ``which`` sights."""
        return np.searchsorted(which, self.left), np.searchsorted(which, self.right)

    def looks(self, looks: Sequence[_Look], sights: Sights) -> list[_Look]:
        """The pairs look by look, of those that have some."""
        out = []
        for k in np.unique(self.at).tolist():
            some = self.of(self.at == k)
            left, right = (sights.number[side] - 1 for side in (some.left, some.right))
            out.append(replace(looks[k], which=some.which, left=left, right=right))
        return out


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
        for looks in self._looks(fresh, apart):
            unsure += self._told(looks, apart, LOOKS[0])
        for count in LOOKS[1:]:
            unsure = [left for look in unsure for left in self._told([look.of(~apart[look.which])], apart, count)]
        self._alike |= together_of(fresh[0][~apart], fresh[1][~apart], len(self._alike))
        self._known |= together_of(*fresh, len(self._known))

    def _told(self, looks: Sequence[_Look], apart: Flags, count: int) -> list[_Look]:
        """Note the pairs that readings tell apart by so many spots; those for which more are needed are left."""
        looks = [look for look in looks if len(look.which)]
        if not looks:
            return []
        numbers = [np.concatenate([look.left, look.right]) + 1 for look in looks]
        sights = Sights.of([(self._spots_on(look.panel), look.row) for look in looks], numbers, count)
        pairs = _Sighted.of_looks(looks, sights).with_still(sights.moved(), sights)
        pairs = pairs.of(~sights.same(pairs.left, pairs.right))
        if not len(pairs.which):
            return []
        which = np.unique([pairs.left, pairs.right])
        seen = sights.stretches(which)
        far = beyond(seen, which, *pairs.places(which))
        apart[pairs.which[far]] = True
        pairs = pairs.of(~far)
        between = differ(sights.laws(seen, which), *pairs.places(which))
        off = 2 * OFF / count if count < LOOKS[-1] else 0.0
        apart[pairs.which[~told_alike(between - off)]] = True
        return pairs.of(told_alike(between - off) & ~told_alike(between + off)).looks(looks, sights)

    def _spots_on(self, panel: Panel) -> Spots:
        """What was seen at the spots of a panel."""
        return self._spots.setdefault(panel, Spots(panel))

    def _looks(self, pairs: Pairs, apart: Flags) -> Iterator[list[_Look]]:
        """Where pairs may be told apart, those aside that are by then: volts of all states, readings with nothing fed."""
        for context in dict.fromkeys(offer.context for offer in self._fed):
            looks = self._fed_looks(context, pairs, apart)
            while some := list(islice(looks, ABREAST)):
                yield some
        if not apart.all():
            self._ranging.ready(np.append(0, np.unique([side[~apart] for side in pairs]) + 1))
        for k in range(0, len(self._cold), ABREAST):
            which = np.flatnonzero(~apart)
            if len(which):
                yield list(self._cold_looks(self._cold[k : k + ABREAST], which, *(side[which] for side in pairs)))

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

    def _cold_looks(self, offered: Sequence[Offer], which: Ints, left: Ints, right: Ints) -> Iterator[_Look]:
        """Readings with nothing fed, each on every range that a pair is shown on.

        Faults of parts that are read or touch its ends are worked out, and those that move what it shows; all others
        leave a reading as on a good board.
        """
        near = [self._of_parts([*offer.parts, *self._touching(offer)]) for offer in offered]
        asked = [some[left] | some[right] for some in near]
        far = []
        for some, of in zip(near, asked, strict=True):
            both = np.concatenate([left[of], right[of]])
            far.append(np.unique(both[~some[both]]))
        for some, beyond_reach, moves in zip(near, far, self._moves(far, offered), strict=True):
            some[beyond_reach] = moves
        for offer, some, of in zip(offered, near, asked, strict=True):
            if of.any():
                sides = (np.where(some[side[of]], side[of], -1) for side in (left, right))
                yield from self._on_ranges(offer, which[of], *sides)

    def _on_ranges(self, offer: Offer, which: Ints, left: Ints, right: Ints) -> Iterator[_Look]:
        """One reading with nothing fed, on each range on which one of a pair is shown."""
        shown = self._ranging.ranges(np.unique([left, right]) + 1, offer)
        for within in sorted(set(shown.values()), key=lambda r: r.top):
            on = np.array([k - 1 for k, one in shown.items() if one == within])
            here = (np.isin(left, on) | np.isin(right, on)) & (left != right)
            yield _Look(*self._place(offer, within), which[here], left[here], right[here])

    def _place(self, offer: Offer, within: Range) -> tuple[Panel, int]:
        """The panel of a reading with nothing fed on a range, and its row there."""
        scale = Scale(self._panels.board.meter, offer.setting, within)
        return self._panels.holding(offer.context, scale, offer.pair)

    def _moves(self, suspects: Sequence[Ints], offered: Sequence[Offer]) -> list[Flags]:
        """Whether suspects of each reading with nothing fed, as they mostly are, move it by anything that counts against its
        display."""
        axes, asked = len(self._panels.board.variables.axes), []
        for some, offer in zip(suspects, offered, strict=True):
            numbers = np.append(0, some + 1)
            panel, _ = self._place(offer, self._ranging.ranges(numbers[:1], offer)[0])
            asked.append(Asked(panel, numbers, np.full((len(numbers), axes), 0.5)))
        out = []
        for one, told in zip(asked, together(asked), strict=True):
            good, mean = told.mean[0, 0], told.mean[1:, 0]
            counts = STILL * np.sqrt(one.panel.scale.variance(told.mean[:1, 0]))
            out.append(np.asarray(~(np.abs(mean - good) < counts)))
        return out

    def _of_parts(self, names: Sequence[str]) -> Flags:
        """Which suspects (H-1,) are faults of some of these parts."""
        wanted = set(names)
        return np.array([not wanted.isdisjoint(one.parts) for one in self._panels.board.hypotheses.all[1:]])

    def _touching(self, offer: Offer) -> list[str]:
        """Parts on the nodes between which a reading is taken, ground aside."""
        ends = set(offer.pair) - {"0"}
        return [name for name, part in self._panels.board.circuit.netlist.items() if ends & set(part.nodes)]
