"""Fault dictionary: what suspects read at the probes that are offered, and which of them none tells apart."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from itertools import islice, zip_longest

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.board import Context
from shouldread.diagnosis.glance import alike_at_a_glance
from shouldread.diagnosis.groups import groups_of, together_of, told_alike
from shouldread.diagnosis.laws import differ
from shouldread.diagnosis.looks import Look, Pairs, Sighted
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
# spots of each hypothesis at which a reading is looked at first, and again where that is not clear
LOOKS = (16, 64, MOST)
ABREAST = 16  # readings that are looked at together: what one tells apart need not be asked of the others
OFF = 1.5  # spots: a share told by spots is no farther off than so many of them


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

    def _told(self, looks: Sequence[Look], apart: Flags, count: int) -> list[Look]:
        """Note the pairs that readings tell apart by so many spots; those for which more are needed are left."""
        looks = [look for look in looks if len(look.which)]
        if not looks:
            return []
        numbers = [np.concatenate([look.left, look.right]) + 1 for look in looks]
        sights = Sights.of([(self._spots_on(look.panel), look.row) for look in looks], numbers, count)
        pairs = Sighted.of_looks(looks, sights).with_still(sights.moved(), sights)
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

    def _looks(self, pairs: Pairs, apart: Flags) -> Iterator[list[Look]]:
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
                beside = self._cold_looks(self._cold[k : k + ABREAST], which, *(side[which] for side in pairs))
                for ranges in zip_longest(*beside):  # what one range tells apart need not be asked of the next
                    yield [look.of(~apart[look.which]) for look in ranges if look is not None]

    def _fed_looks(self, context: Context, pairs: Pairs, apart: Flags) -> Iterator[Look]:
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
                yield Look(panel, row, here, *(side[here] for side in pairs))

    def _cold_looks(self, offered: Sequence[Offer], which: Ints, left: Ints, right: Ints) -> Iterator[Iterator[Look]]:
        """Readings with nothing fed, and of each the ranges that a pair is shown on, from the lowest up.

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
                yield self._on_ranges(offer, which[of], *sides)

    def _on_ranges(self, offer: Offer, which: Ints, left: Ints, right: Ints) -> Iterator[Look]:
        """One reading with nothing fed, on each range on which one of a pair is shown."""
        shown = self._ranging.ranges(np.unique([left, right]) + 1, offer)
        tops = np.zeros(len(self._known) + 1)
        tops[list(shown)] = [within.top for within in shown.values()]
        one, two = tops[left + 1], tops[right + 1]
        for within in sorted(set(shown.values()), key=lambda r: r.top):
            here = ((one == within.top) | (two == within.top)) & (left != right)
            yield Look(*self._place(offer, within), which[here], left[here], right[here])

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
        out = np.zeros(len(self._known), dtype=bool)
        for name in names:
            out[self._faults_of.get(name, [])] = True
        return out

    @cached_property
    def _faults_of(self) -> Mapping[str, list[int]]:
        """The suspects of each part."""
        found: dict[str, list[int]] = {}
        for k, one in enumerate(self._panels.board.hypotheses.all[1:]):
            for part in one.parts:
                found.setdefault(part, []).append(k)
        return found

    def _touching(self, offer: Offer) -> set[str]:
        """Parts on the nodes between which a reading is taken, ground aside."""
        return {name for end in offer.pair if end != "0" for name in self._parts_on.get(end, ())}

    @cached_property
    def _parts_on(self) -> Mapping[str, list[str]]:
        """The parts on each node."""
        found: dict[str, list[str]] = {}
        for name, part in self._panels.board.circuit.netlist.items():
            for node in set(part.nodes):
                found.setdefault(node, []).append(name)
        return found
