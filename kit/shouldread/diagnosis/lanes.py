"""One hypothesis on one board in one state, ready to be solved at many points of what is unsure about it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.circuit import Circuit, standing
from shouldread.diagnosis.hypothesis import Hypothesis
from shouldread.diagnosis.variables import COLD, Variables, relative_sigma
from shouldread.faults import Fault, fault_edits
from shouldread.parts import Bridge, Edit, Scale, Severity
from shouldread.solve import Network, Points, loaded, patched

Array = NDArray[np.float64]
Ints = NDArray[np.intp]


HARD = Severity.between("ohm", 0.01, 5.0)  # what is found behind a short, contact and trace included (own judgement)


@dataclass(frozen=True, slots=True)
class Axis:
    """Something that runs over a wide range, evenly in its logarithm: ``name`` is ``severity 1`` or a param's key."""

    name: str
    low: float
    high: float

    def value(self, position: Array) -> Array:
        """Ohms or factor at positions 0..1."""
        return np.asarray(self.low * (self.high / self.low) ** position)


@dataclass(frozen=True, slots=True)
class _Handle:
    """A slot of the network that an axis turns: to its value, or to ``base`` times it."""

    axis: int
    slot: int
    base: float | None  # None: the value itself


@dataclass(frozen=True, slots=True)
class _Plan:
    """Where the numbers of a network belong: params with a column (their numbers, columns, slots, deviations), and
    the wide ones with their axes."""

    columns: int
    param: Ints
    column: Ints
    slot: Ints
    relative: Array
    absolute: Array
    axes: Mapping[int, Axis]
    handles: tuple[_Handle, ...]


class Plans:
    """Plans of networks; patched ones share that of the network they were laid on.

    ``shorts_vary``: a short is anything up to a few ohms, as met on boards, and not just what a bare name stands for.
    """

    def __init__(self, unsure: Variables, *, shorts_vary: bool) -> None:
        self.shorts_vary = shorts_vary
        self._unsure = unsure
        self._made: dict[int, tuple[object, _Plan]] = {}

    def of(self, network: Network) -> _Plan:
        """The plan of a network's params."""
        key = id(network.params)
        if key not in self._made:
            self._made[key] = network.params, self._plan(network)
        return self._made[key][1]

    def _plan(self, network: Network) -> _Plan:
        columns = self._unsure.columns
        numbers = {name: k for k, name in enumerate(self._unsure.axes)}
        rows = [(k, columns[p.key], p) for k, p in enumerate(network.params) if p.key in columns]
        sigmas = [p.sense * relative_sigma(p.spread) for _, _, p in rows]
        wide = [(numbers[p.key], p) for p in network.params if p.key in numbers]
        return _Plan(
            len(columns),
            np.array([k for k, _, _ in rows], dtype=np.intp),
            np.array([c for _, c, _ in rows], dtype=np.intp),
            np.array([p.slot for _, _, p in rows], dtype=np.intp),
            np.array(sigmas),
            np.array([0.0 if s else p.spread.sigma for s, (_, _, p) in zip(sigmas, rows, strict=True)]),
            {axis: Axis(p.key, p.spread.low, p.spread.high) for axis, p in wide},
            tuple(_Handle(axis, p.slot, None) for axis, p in wide),
        )


class Lanes:
    """A board with one hypothesis in it, its numbers free where they are unsure."""

    def __init__(
        self, circuit: Circuit, hypothesis: Hypothesis, ground: Network, plans: Plans, *, quick: bool
    ) -> None:
        """``ground`` is the board without the hypothesis; ``quick``: a fault may be laid on it as a patch."""
        parts = tuple(circuit.netlist.values())
        self._cold = ground.state.name == COLD
        edits = standing(circuit, [e for f in hypothesis.members for e in fault_edits(f, parts)], cold=self._cold)
        self.network = _with(circuit, ground, edits, quick)
        self._plan = plans.of(self.network)
        self._loaded: dict[tuple[str, str], Network] = {}
        self.axes: dict[int, Axis] = dict(self._plan.axes)
        self._handles: list[_Handle] = list(self._plan.handles)
        for number, member in enumerate(hypothesis.members):
            if member.severity is None and member.severity_range is not None:
                self._grade(circuit, member, number)
            elif plans.shorts_vary:
                self._soften(edits, member, number)

    @property
    def columns(self) -> int:
        """How many part variables there are."""
        return self._plan.columns

    def loaded(self, pair: tuple[str, str]) -> Network:
        """The network with a meter at a pair, made once."""
        if pair not in self._loaded:
            self._loaded[pair] = loaded(self.network, *pair)
        return self._loaded[pair]

    def _grade(self, circuit: Circuit, member: Fault, axis: int) -> None:
        """Find what the severity of a fault turns, by what differs between two severities."""
        graded = member.severity_range
        assert graded is not None
        parts = tuple(circuit.netlist.values())
        mild, median = (fault_edits(member, parts, severity=s) for s in (graded.low, graded.median))
        pairs = (standing(circuit, edits, cold=self._cold) for edits in (mild, median))
        for one, two in zip(*pairs, strict=True):
            if isinstance(one, Bridge) and isinstance(two, Bridge) and one.ohms != two.ohms:
                self._turn(axis, f"bridge:{two.name}", "value", None)
            elif isinstance(one, Scale) and isinstance(two, Scale) and one.factor != two.factor:
                self._turn(axis, two.part, two.what, 1.0 / two.factor)
        if any(handle.axis == axis for handle in self._handles):
            self.axes[axis] = Axis(f"severity {axis + 1}", graded.low, graded.high)

    def _soften(self, edits: Sequence[Edit], member: Fault, axis: int) -> None:
        """A short is as hard as it happens to be: contact, crack and trace decide."""
        for edit in edits:
            if isinstance(edit, Bridge) and edit.name == member.name and edit.ohms <= HARD.low:
                self._turn(axis, f"bridge:{edit.name}", "value", None)
                self.axes[axis] = Axis(f"severity {axis + 1}", HARD.low, HARD.high)

    def _turn(self, axis: int, part: str, what: str, part_of: float | None) -> None:
        slots = self.network.net.slot_of
        key = (part, what) if (part, what) in slots else _spelled(slots, part, what)
        if key in slots:
            slot = slots[key]
            base = None if part_of is None else part_of * float(self.network.net.slots[slot])
            self._handles.append(_Handle(axis, slot, base))

    def slots(self, points: Array) -> Array:
        """Numbers of the network at points (L, D) of the axes, parts at their nominal values (L, S)."""
        out = np.tile(self.network.net.slots, (len(points), 1))
        for handle in self._handles:
            value = self.axes[handle.axis].value(points[:, handle.axis])
            out[:, handle.slot] = value if handle.base is None else handle.base * value
        return out

    def moved(self, slots: Array) -> Array:
        """One lane's numbers (S,) with each part variable a standard deviation up in turn (V, S)."""
        plan = self._plan
        out = np.tile(slots, (len(plan.slot), 1))
        out[np.arange(len(plan.slot)), plan.slot] += np.abs(slots[plan.slot]) * plan.relative + plan.absolute
        return out

    def by_column(self, moves: Array) -> Array:
        """Changes (V, K), one row for each variable of ``moved``, as loads (K, C)."""
        out = np.zeros((moves.shape[1], self.columns))
        np.add.at(out.T, self._plan.column, moves)
        return out

    def loads(self, points: Points, slopes: Array) -> Array:
        """(L, K, C) change per standard deviation of each part variable, from (L, K, P) slopes per unit."""
        plan = self._plan
        deviation = np.abs(points.slots[:, plan.slot]) * plan.relative + plan.absolute
        out = np.zeros((*slopes.shape[:2], plan.columns))
        moves = slopes[:, :, plan.param] * deviation[:, None, :]
        np.add.at(np.moveaxis(out, 2, 0), plan.column, np.moveaxis(moves, 2, 0))
        return out


def _spelled(slots: Mapping[tuple[str, str], int], part: str, what: str) -> tuple[str, str]:
    """A slot's key by its part's name in any case."""
    return next((k for k in slots if k[0].casefold() == part.casefold() and k[1] == what), ("", ""))


def _with(circuit: Circuit, ground: Network, edits: tuple[Edit, ...], quick: bool) -> Network:
    """The board with a fault in it: the board itself for none, a patch where that does, else built anew."""
    if not edits:
        return ground
    laid = patched(ground, edits) if quick else None
    return laid if laid is not None else Network(circuit, (*edits, *ground.edits), state=ground.state.name)
