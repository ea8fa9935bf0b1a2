"""Hypotheses on one board in one state, ready to be solved at many points of what is unsure about them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from shouldread.circuit import Circuit, Remembered, standing
from shouldread.diagnosis.hypothesis import Hypothesis
from shouldread.diagnosis.plans import Axis, Handle, Plans, along
from shouldread.diagnosis.variables import COLD
from shouldread.faults import Fault, by_name, fault_edits
from shouldread.parts import Bridge, Edit, Part, Scale, Severity
from shouldread.solve import FAILED, OPEN, Laid, Moved, Network, Points, Rest, loaded

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Pair = tuple[str, str]

_Rested = tuple[Array, NDArray[np.int64], NDArray[np.int64]]  # node volts, switch bits, status of some lanes

HARD = Severity.between("ohm", 0.01, 5.0)  # what is found behind a short, contact and trace included (own judgement)


@dataclass(frozen=True, slots=True)
class _Member:
    """A hypothesis on the network: its numbers and where its middle rests, its axes, and what those of its severity turn."""

    laid: Laid
    axes: Mapping[int, Axis]
    handles: tuple[Handle, ...]


@dataclass(frozen=True, slots=True)
class _Turn:
    """One number of each member (M,) that an axis of its severity turns: its slot (-1: none), the axis, and what its value
    is taken times; ``low`` and ``ratio`` of the axis."""

    slot: Ints
    axis: Ints
    base: Array
    low: Array
    ratio: Array


@dataclass(frozen=True, slots=True)
class _Stack:
    """All members beside each other: their numbers (M, S), where their middles rest, what their severities turn."""

    row: Mapping[int, int]
    slots: Array
    x: Array
    bits: NDArray[np.int64]
    turns: tuple[_Turn, ...]

    @classmethod
    def of(cls, members: Mapping[int, _Member]) -> "_Stack":
        """Members in the order in which they came."""
        all_of = list(members.values())
        turns = []
        for rank in range(max(len(one.handles) for one in all_of)):
            rows = [_turned(one, rank) for one in all_of]
            slot, axis = (np.array([row[k] for row in rows], dtype=np.intp) for k in (0, 1))
            turns.append(_Turn(slot, axis, *(np.array([row[k] for row in rows]) for k in (2, 3, 4))))
        return cls(
            {number: k for k, number in enumerate(members)},
            np.array([one.laid.slots for one in all_of]),
            np.array([one.laid.x for one in all_of]),
            np.array([one.laid.bits for one in all_of]),
            tuple(turns),
        )


def _turned(member: _Member, rank: int) -> tuple[int, int, float, float, float]:
    if rank >= len(member.handles):
        return -1, 0, 1.0, 1.0, 1.0
    handle = member.handles[rank]
    axis = member.axes[handle.axis]
    return handle.slot, handle.axis, handle.base, axis.low, axis.high / axis.low


_NAMED: Remembered[Mapping[str, Part]] = Remembered(8)


def _named(circuit: Circuit) -> Mapping[str, Part]:
    """The parts of a circuit by name."""
    return _NAMED.get(circuit, (), lambda: by_name(circuit.netlist.values()))


def edits_of(circuit: Circuit, hypothesis: Hypothesis, *, cold: bool) -> tuple[Edit, ...]:
    """What a hypothesis does to the netlist."""
    edits = [edit for fault in hypothesis.members for edit in fault_edits(fault, _named(circuit))]
    return standing(circuit, edits, cold=cold)


class Lanes:
    """A network and the hypotheses that are numbers of it, free where they are unsure: all are solved side by side."""

    def __init__(self, circuit: Circuit, network: Network, plans: Plans) -> None:
        self.network = network
        self._circuit = circuit
        self._soft = plans.shorts_vary
        self._plan = plans.of(network)
        self._members: dict[int, _Member] = {}
        self._stack: _Stack | None = None
        self._status = FAILED if network.net.loop else network.start.status
        self._tips: _Tips | None = None
        self._met: dict[tuple[int, bytes], tuple[_Rested, int]] = {}

    def enter(self, number: int, hypothesis: Hypothesis, edits: Sequence[Edit], laid: Laid | None = None) -> None:
        """Take a hypothesis in, with what it does to the netlist. ``laid`` is left out where the network is its own."""
        net, start = self.network.net, self.network.start
        own = Laid(net.slots, start.x, start.bits) if laid is None else laid
        turned = _Turned(net.slot_of, own.slots, dict(self._plan.axes), [])
        for axis, fault in enumerate(hypothesis.members):
            if fault.severity is None and fault.severity_range is not None:
                turned.grade(self._circuit, fault, axis, self.network.state.name)
            elif self._soft:
                turned.soften(edits, fault, axis)
        self._members[number] = _Member(own, turned.axes, tuple(turned.handles))

    @property
    def columns(self) -> int:
        """How many part variables there are."""
        return self._plan.columns

    def rest(self, number: int) -> Rest:
        """Where a hypothesis rests, as it mostly is."""
        laid = self._members[number].laid
        return Rest(laid.x, laid.bits, self._status, laid.slots, self.network.net)

    def axes(self, number: int) -> Mapping[int, Axis]:
        """The axes that a hypothesis has, by their numbers."""
        return self._members[number].axes

    def slots(self, owner: Ints, points: Array) -> Array:
        """Numbers of the network (L, S) with hypothesis ``owner[l]`` at ``points[l]`` (L, D), parts at their nominal values."""
        stack, row = self._stacked(owner)
        out = stack.slots[row]
        plan, was = self._plan, out[:, self._plan.turned]
        wide = along(plan.low, plan.ratio, points[:, plan.turning])
        out[:, plan.turned] = np.where(was < OPEN, wide, was)  # what is lifted is nothing, however unsure its value
        for turn in stack.turns:
            some = np.flatnonzero(turn.slot[row] >= 0)
            mine = row[some]
            value = along(turn.low[mine], turn.ratio[mine], points[some, turn.axis[mine]])
            out[some, turn.slot[mine]] = turn.base[mine] * value
        return out

    def _stacked(self, owner: Ints) -> tuple[_Stack, Ints]:
        """All members beside each other, and the rows there of some of them."""
        stack = self._stack
        if stack is None or len(stack.row) < len(self._members):  # other threads may enter members meanwhile
            stack = self._stack = _Stack.of(dict(self._members))
        return stack, np.array([stack.row[number] for number in owner.tolist()], dtype=np.intp)

    def solve(self, owner: Ints, points: Array) -> Points:
        """Hypothesis ``owner[l]`` at ``points[l]`` of its axes (L, D), no meter on the board."""
        slots = self.slots(owner, points)
        start, keys = self._middles(owner, slots), list(zip(owner.tolist(), map(bytes, points), strict=True))
        for lane, met in enumerate(map(self._met.get, keys)):
            if met is not None:
                (x, bits, status), then = met
                start.raw[lane], start.bits[lane], start.status[lane] = x[then], bits[then], status[then]
        solved = self.network.solve(slots=slots, warm=start)
        rested = solved.raw, solved.bits, solved.status
        self._met |= {key: (rested, lane) for lane, key in enumerate(keys)}
        return solved

    def _middles(self, owner: Ints, slots: Array) -> Points:
        """Where the middle of hypothesis ``owner[l]`` rests, with numbers (L, S)."""
        stack, row = self._stacked(owner)
        return Points(self.network, stack.x[row], stack.bits[row], np.full(len(owner), self._status), slots)

    def metered(self, meters: "Meters", owner: Ints, slots: Array, warm: Points | None = None) -> Points:
        """The same numbers (L, S) with a meter on the board."""
        tips = self._reaching(meters.pairs)
        number = np.array([tips.number[pair] for pair in meters.pairs])
        if warm is None:
            warm = self._middles(owner, slots)
        beside = np.column_stack([slots, number[meters.which], 1.0 / meters.ohms, meters.amps])
        return tips.network.solve(slots=beside, warm=warm)

    def _reaching(self, pairs: Sequence[Pair]) -> "_Tips":
        """The network with a meter that may stand at these pairs, and at each that it was made for before."""
        tips = self._tips
        if tips is None or not all(pair in tips.number for pair in pairs):
            every = tuple(dict.fromkeys([*(self._usual() if tips is None else tips.number), *pairs]))
            tips = self._tips = _Tips(loaded(self.network, every), {pair: k for k, pair in enumerate(every)})
        return tips

    def _usual(self) -> Iterator[Pair]:
        """Where a meter is mostly put: nodes to ground and across parts; to allow for these costs a solve nothing."""
        known = set(self.network.nodes)
        for part in self._circuit.netlist.values():
            nodes = [node for node in part.nodes if node in known]
            yield from ((node, "0") for node in nodes)
            if part.kind in "RLDQ":
                yield from permutations(nodes, 2)

    def moved(self, slots: Array) -> Array:
        """One lane's numbers (S,) with each part variable a standard deviation up in turn (V, S)."""
        plan = self._plan
        out = np.tile(slots, (len(plan.slot), 1))
        out[np.arange(len(plan.slot)), plan.slot] += np.abs(slots[plan.slot]) * plan.relative + plan.absolute
        return out

    def by_column(self, moves: Array) -> Array:
        """Changes (V,), one for each variable of ``moved``, as loads (C,)."""
        return np.asarray(np.bincount(self._plan.column, moves, self._plan.columns), dtype=np.float64)

    def loads(self, points: Points, inverse: Array) -> Array:
        """(L, K, C) change of the pairs' volts per standard deviation of each part variable; ``inverse`` is theirs."""
        plan = self._plan
        deviation = np.abs(points.slots.take(plan.slot, axis=1)) * plan.relative + plan.absolute
        return points.moved(inverse, plan.param, Moved(deviation, plan.column, plan.columns))


@dataclass(frozen=True, slots=True)
class Meters:
    """Where a meter stands on each of some lanes (L,): at pair ``which`` of the ``pairs``, its ohms, and its volts over these."""

    pairs: tuple[Pair, ...]
    which: Ints
    ohms: Array
    amps: Array

    @classmethod
    def alike(cls, pair: Pair, ohms: float, volts: float, lanes: int) -> "Meters":
        """The same on all lanes: volts behind ohms."""
        return cls((pair,), np.zeros(lanes, dtype=np.intp), np.full(lanes, ohms), np.full(lanes, volts / ohms))

    def nodes(self, network: Network) -> Ints:
        """Numbers of the nodes that it touches (L, 2)."""
        return np.column_stack(network.ends(self.pairs))[self.which]


@dataclass(frozen=True, slots=True)
class _Tips:
    """A network with a meter that may stand at some pairs, and the number of each."""

    network: Network
    number: Mapping[Pair, int]


@dataclass(frozen=True, slots=True)
class _Turned:
    """What the axes of a hypothesis turn, as it is found out: its numbers, its axes, its handles."""

    slot_of: Mapping[tuple[str, str], int]
    slots: Array
    axes: dict[int, Axis]
    handles: list[Handle]

    def grade(self, circuit: Circuit, fault: Fault, axis: int, state: str) -> None:
        """Find what the severity of a fault turns, by what differs between two severities."""
        graded = fault.severity_range
        assert graded is not None
        mild, median = (fault_edits(fault, _named(circuit), severity=s) for s in (graded.low, graded.median))
        pairs = (standing(circuit, edits, cold=state == COLD) for edits in (mild, median))
        for one, two in zip(*pairs, strict=True):
            if isinstance(one, Bridge) and isinstance(two, Bridge) and one.ohms != two.ohms:
                self._turn(axis, f"bridge:{two.name}", "value", None)
            elif isinstance(one, Scale) and isinstance(two, Scale) and one.factor != two.factor:
                self._turn(axis, two.part, two.what, 1.0 / two.factor)
        if any(handle.axis == axis for handle in self.handles):
            self.axes[axis] = Axis(f"severity {axis + 1}", graded.low, graded.high)

    def soften(self, edits: Sequence[Edit], fault: Fault, axis: int) -> None:
        """A short is as hard as it happens to be: contact, crack and trace decide."""
        for edit in edits:
            if isinstance(edit, Bridge) and edit.name == fault.name and edit.ohms <= HARD.low:
                self._turn(axis, f"bridge:{edit.name}", "value", None)
                self.axes[axis] = Axis(f"severity {axis + 1}", HARD.low, HARD.high)

    def _turn(self, axis: int, part: str, what: str, part_of: float | None) -> None:
        key = (part, what) if (part, what) in self.slot_of else _spelled(self.slot_of, part, what)
        if key in self.slot_of:
            slot = self.slot_of[key]
            base = 1.0 if part_of is None else part_of * float(self.slots[slot])
            self.handles.append(Handle(axis, slot, base))


def _spelled(slots: Mapping[tuple[str, str], int], part: str, what: str) -> tuple[str, str]:
    """A slot's key by its part's name in any case."""
    return next((k for k in slots if k[0].casefold() == part.casefold() and k[1] == what), ("", ""))
