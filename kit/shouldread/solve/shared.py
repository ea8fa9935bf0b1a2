"""Many faults on one structure: where each is a matter of numbers, all of them are solved side by side as lanes."""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from shouldread.circuit import HOLD
from shouldread.parts import Edit
from shouldread.solve.lane_rest import FAILED, SOLVED, rest
from shouldread.solve.net import Floats, Ints, Net
from shouldread.solve.network import Network
from shouldread.solve.patch import OPEN, Patch, loose_nodes, sole_ties
from shouldread.solve.ridges import surely_stable
from shouldread.solve.steady import STEPS, Rest, carried, climb, sources, unstable_direction


@dataclass(frozen=True, slots=True)
class Laid:
    """A fault on a shared structure: its numbers (S,), and where the board rests with it, node volts and switch bits."""

    slots: Floats
    x: Floats
    bits: Ints


@dataclass(frozen=True, slots=True)
class _Numbers:
    """A fault as numbers: slots that change, ohms of its bridges (name, node, node), nodes that nothing else ties."""

    changed: Mapping[int, float]
    bridges: Mapping[tuple[str, int, int], float]
    tied: tuple[int, ...]


class Shared:
    """A network with a bridge for each of many faults, standing open; a fault closes its own.

    Shorts, leaks, drifts, lifted resistors, and pins that have a link in the network (``linked``) are numbers of this
    structure. What lifts other pins, or is no patch at all, is not: see ``patched``, whose limits are those of every
    fault here. ``remembers``: the board may stand at several answers, so that each fault goes through what was before, as
    it does wherever there are switches.
    """

    def __init__(self, ground: Network, faults: Sequence[Sequence[Edit]], *, remembers: bool = False) -> None:
        self._ground = ground
        self._remembers = remembers or bool(len(ground.net.switches))
        self._bridges: dict[str, tuple[int, int, int]] = {}
        self._ties: dict[int, int] = {}
        self._size = len(ground.net.slots)
        self._known: dict[tuple[Edit, ...], _Numbers | None] = {}
        for edits in faults:
            if (numbers := self._numbers(edits)) is not None:
                self._make_room(numbers)
        self.network = self._built()

    def takes(self, edits: Sequence[Edit]) -> bool:
        """Whether a fault is a matter of numbers here."""
        return self._numbers(edits) is not None

    def laid(self, faults: Sequence[Sequence[Edit]], before: Sequence[Rest | None] = ()) -> list[Laid | None]:
        """Each fault with the point it is reached at; None for one that needs a network of its own.

        ``before``: where the board with it rests in the state that is passed through; None, or none at all, for power-up.
        """
        rows = [self._row(numbers) if (numbers := self._numbers(edits)) is not None else None for edits in faults]
        able = [k for k, row in enumerate(rows) if row is not None]
        out: list[Laid | None] = [None] * len(rows)
        if able:
            slots = np.array([rows[k] for k in able])
            x, bits, calm = self._started(slots, [before[k] if before else None for k in able])
            for lane in np.flatnonzero(calm).tolist():
                out[able[lane]] = Laid(slots[lane], x[lane], bits[lane])
        return out

    def _numbers(self, edits: Sequence[Edit]) -> _Numbers | None:
        """What the edits change, where that is numbers only."""
        key = tuple(edits)
        if key not in self._known:
            patch = Patch(self._ground)
            sound = self._ground.start.status == SOLVED and not self._ground.net.loop
            able = sound and all(patch.takes(edit) for edit in edits)
            self._known[key] = self._of(patch) if able and set(patch.moved) <= {"resistors"} else None
        return self._known[key]

    def _of(self, patch: Patch) -> _Numbers:
        net, moved = self._ground.net, patch.moved.get("resistors", ())
        opened = [row for row, _, _ in moved]
        tied: list[int] = []
        gone = {"resistors": opened, "switches": patch.removed, "constraints": patch.opened}
        several = sum(map(len, gone.values())) > 1
        if several or not all(self._sole_ties[name].isdisjoint(rows) for name, rows in gone.items()):
            kept = np.delete(net.resistors, opened, axis=0)
            bridges = np.array([row[:2] for row in patch.resistors], dtype=np.int64).reshape(-1, 2)
            tied = loose_nodes(net, np.concatenate([kept[:, :2], bridges]), patch.opened, patch.removed).tolist()
        changed = patch.changed | {int(net.resistors[row, 2]): OPEN for row in opened}
        ends = [(name, a, b) for name, (a, b, _) in zip(patch.bridged, patch.resistors, strict=True)]
        return _Numbers(changed, dict(zip(ends, patch.slots, strict=True)), tuple(tied))

    @cached_property
    def _sole_ties(self) -> Mapping[str, frozenset[int]]:
        return sole_ties(self._ground.net)

    def _make_room(self, numbers: _Numbers) -> None:
        """Slots for the bridges and ties of a fault."""
        for name, a, b in numbers.bridges:
            if name not in self._bridges:
                self._bridges[name] = a, b, self._next()
        for node in numbers.tied:
            if node not in self._ties:
                self._ties[node] = self._next()

    def _next(self) -> int:
        self._size += 1
        return self._size - 1

    def _built(self) -> Network:
        ground = self._ground
        net = ground.net
        rows = [*self._bridges.values(), *((node, 0, slot) for node, slot in self._ties.items())]
        made: Net = replace(
            net,
            slots=np.concatenate([net.slots, np.full(self._size - len(net.slots), OPEN)]),
            slot_of={**net.slot_of, **{(f"bridge:{name}", "value"): row[2] for name, row in self._bridges.items()}},
            resistors=np.concatenate([net.resistors, np.array(rows, dtype=np.int64).reshape(-1, 3)]),
        )
        out = copy(ground)
        out.net = made
        out.start = replace(ground.start, net=made, slots=made.slots)
        return out

    def _row(self, numbers: _Numbers) -> Floats | None:
        """The numbers of a fault, where there is room for its bridges and ties."""
        slots = self.network.net.slots.copy()
        for slot, value in numbers.changed.items():
            slots[slot] = value
        for (name, a, b), ohms in numbers.bridges.items():
            if self._bridges.get(name, ())[:2] != (a, b):
                return None
            slots[self._bridges[name][2]] = ohms
        for node in numbers.tied:
            if node not in self._ties:
                return None
            slots[self._ties[node]] = HOLD
        return slots

    def _started(self, slots: Floats, before: Sequence[Rest | None]) -> tuple[Floats, Ints, Ints]:
        """Where faults rest (L, N), their bits, and which of them rest there without more ado.

        From where they were before where the board remembers, else from where the board without a fault rests.
        """
        net, lanes = self.network.net, len(slots)
        if not self._remembers:
            x, bits = np.tile(self.network.start.x, (lanes, 1)), np.tile(self.network.start.bits, (lanes, 1))
            return x, bits, rest(x, slots, bits, net) == SOLVED
        x, bits, part = np.zeros((lanes, net.size)), np.tile(net.first_bits, (lanes, 1)), slots.copy()
        rose, which = np.ones(lanes, dtype=bool), sources(net)
        old = np.zeros((lanes, len(which)))
        for lane, point in enumerate(before):
            if (there := carried(point, net)) is not None:
                x[lane], bits[lane], old[lane] = there.x, there.bits, there.slots[which]
        for step in climb(old, slots[:, which], STEPS):
            part[:, which] = old + step / STEPS * (slots[:, which] - old)
            status = rest(x, part, bits, net)
            rose &= status != FAILED
        rose &= status == SOLVED
        asked = np.flatnonzero(rose)
        doubtful = asked[~surely_stable(x[asked], slots[asked], bits[asked], net)] if len(asked) else asked
        for lane in doubtful.tolist():
            rose[lane] = unstable_direction(Rest(x[lane], bits[lane], SOLVED, slots[lane], net)) is None
        return x, bits, rose
