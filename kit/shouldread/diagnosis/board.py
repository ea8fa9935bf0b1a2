"""A circuit with its hypotheses and all that no reading changes: kept, so that each further reading is quick."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shouldread.circuit import Circuit
from shouldread.diagnosis.abreast import THREADS, abreast
from shouldread.diagnosis.hypothesis import Hypotheses, Hypothesis, KnownCauses, Masses, hypotheses
from shouldread.diagnosis.lanes import Lanes, edits_of
from shouldread.diagnosis.plans import Plans
from shouldread.diagnosis.strays import Stray, stray_edits, strays
from shouldread.diagnosis.variables import COLD, Variables, variables
from shouldread.faults import Fault, read_conditions
from shouldread.meter import Meter
from shouldread.parts import Edit, Lift
from shouldread.solve import Network, Rest, Shared, Solution, chain, linked, patched, solve

Ints = NDArray[np.intp]
_Structure = tuple[Network, Sequence[Sequence[Edit]]]  # a board, and the faults that are to be numbers of it

PIECE = 128  # hypotheses laid on at a time
FEW = 6  # hypotheses for which a structure with links is not worth its while


@dataclass(frozen=True, slots=True, order=True)
class Context:
    """How the board is fed (``cold``: not at all) and what was done to it electrically, in order of the alphabet."""

    state: str
    conditions: tuple[str, ...] = ()

    @property
    def cold(self) -> bool:
        """Whether nothing is fed."""
        return self.state == COLD


class Board:
    """A circuit, its hypotheses and a meter. ``with_rest``: stray paths of the rest of the board are in it;
    ``shorts_vary``: a short is anything up to a few ohms.

    ``variables`` says what is unsure: narrow tolerances of parts, and wide axes.
    """

    def __init__(
        self,
        circuit: Circuit,
        meter: Meter,
        *,
        with_rest: bool = True,
        shorts_vary: bool = False,
        masses: Masses | None = None,
        casebook: KnownCauses | None = None,
    ) -> None:
        self.circuit = circuit
        self.meter = meter
        self.hypotheses: Hypotheses = hypotheses(circuit, masses, casebook)
        self.strays: tuple[Stray, ...] = strays(circuit) if with_rest else ()
        self.variables: Variables = variables(circuit, tuple(f"bridge:{stray.name}" for stray in self.strays))
        self._more: list[Hypothesis] = []
        self._circuits: dict[tuple[str, ...], Circuit] = {(): circuit}
        self._lanes: dict[Context, dict[int, Lanes]] = defaultdict(dict)
        self._plans = Plans(self.variables, shorts_vary=shorts_vary)
        self._done_to: dict[tuple[int, tuple[str, ...], bool], tuple[Edit, ...]] = {}
        self._grounds: dict[Context, Network] = {}
        self._alone: dict[Context, set[int]] = defaultdict(set)
        self._structures: dict[tuple[Context, str], tuple[Shared, Lanes]] = {}
        self._good: dict[Context, Solution] = {}
        self._earlier: dict[Context, Context | None] = {}

    def hypothesis(self, number: int) -> Hypothesis:
        """A hypothesis by number; beyond those of the inference, one that was asked about."""
        listed = len(self.hypotheses)
        return self.hypotheses.all[number] if number < listed else self._more[number - listed]

    def number_of(self, fault: Fault) -> int:
        """The number of a fault, given one if it is no hypothesis of the inference (a severity of its own, a pair)."""
        if str(fault) in self.hypotheses.index:
            return self.hypotheses.index[str(fault)]
        names = [h.name for h in self._more]
        if str(fault) not in names:
            self._more.append(Hypothesis(str(fault), fault, 0.0))
            names.append(str(fault))
        return len(self.hypotheses) + names.index(str(fault))

    @property
    def has_rest(self) -> bool:
        """Whether an unknown rest of the board hangs on some node."""
        return bool(strays(self.circuit))

    def context(self, state: str, conditions: tuple[str, ...] = ()) -> Context:
        """The context of a reading: its state ("" is the first) and those of its conditions that change a circuit."""
        parts, nodes = self.circuit.netlist.values(), self.circuit.nodes
        done = {str(c) for text in conditions for c in read_conditions(text, parts, nodes) if c.verb}
        return Context(self.circuit.state(state or None).name, tuple(sorted(done)))

    def circuit_in(self, context: Context) -> Circuit:
        """The circuit with what was done to it."""
        if context.conditions not in self._circuits:
            self._circuits[context.conditions] = self.circuit.with_condition(" and ".join(context.conditions))
        return self._circuits[context.conditions]

    def lanes(self, number: int, context: Context) -> Lanes:
        """Lanes that hold one hypothesis in one context, ready to be solved: those it shares with others, or its own."""
        held = self._lanes[context]
        if number not in held:
            self.prepare([number], context)
        if number not in held:
            own = Lanes(self.circuit_in(context), self._own_network(number, context), self._plans)
            own.enter(number, self.hypothesis(number), self._edits(number, context))
            held[number] = own
        return held[number]

    def together(self, owner: Ints, context: Context) -> list[tuple[Lanes, Ints]]:
        """Which of some hypotheses (their numbers, in any order) are held by the same lanes: the lanes, and where."""
        numbers, which = np.unique(owner, return_inverse=True)
        held = [self.lanes(number, context) for number in numbers.tolist()]
        places = {id(lanes): k for k, lanes in enumerate(held)}
        of = np.array([places[id(lanes)] for lanes in held], dtype=np.intp)[which]
        return [(held[k], np.flatnonzero(of == k)) for k in places.values()]

    def prepare(self, numbers: Iterable[int], context: Context) -> None:
        """Lay these hypotheses on the structures that they share, all at once; those that cannot be are left out."""
        held, alone = self._lanes[context], self._alone[context]
        fresh = [k for k in numbers if k not in held and k not in alone]
        if not any(fresh):
            return
        left = self._lay(fresh, context, self._shared(context))
        if len(left) > FEW:
            left = self._lay(left, context, self._linked(context))
        alone.update(left)
        abreast(lambda number: self.lanes(number, context), left)

    def _lay(self, numbers: list[int], context: Context, on: tuple[Shared, Lanes]) -> list[int]:
        """Lay hypotheses on a structure; which of them are none of its numbers."""
        shared, lanes = on
        edits = [self._edits(k, context) for k in numbers]
        before = self._before(numbers, context)
        pieces = [slice(k, k + PIECE) for k in range(0, len(edits), PIECE)]
        laid = abreast(lambda some: shared.laid(edits[some], before[some]), pieces, THREADS)
        left = []
        for number, mine, one in zip(numbers, edits, (one for piece in laid for one in piece), strict=True):
            if one is None:
                left.append(number)
                continue
            lanes.enter(number, self.hypothesis(number), mine, one)
            self._lanes[context][number] = lanes
        return left

    def _before(self, numbers: list[int], context: Context) -> list[Rest | None]:
        """Where hypotheses rest in the state that is passed through before this one; None for power-up."""
        passed = self._passed(context)
        if passed is None:
            return [None] * len(numbers)
        self.prepare(numbers, passed)
        return [self.lanes(number, passed).rest(number) for number in numbers]

    def _passed(self, context: Context) -> Context | None:
        """The context that is passed through before this one, where the board remembers what was."""
        if context not in self._earlier:
            circuit = self.circuit_in(context)
            passed = () if context.cold else chain(circuit, circuit.state(context.state))[:-1]
            remembers = bool(passed) and (self.remembers(context) or bool(len(self._ground(context).net.switches)))
            self._earlier[context] = replace(context, state=passed[-1].name) if remembers else None
        return self._earlier[context]

    def _shared(self, context: Context) -> tuple[Shared, Lanes]:
        """The structure of most hypotheses: the board, with a bridge for each of them that is one."""
        return self._structure(context, "bridges", lambda: (self._ground(context), self._all_edits(context)))

    def _linked(self, context: Context) -> tuple[Shared, Lanes]:
        """The structure of those that lift a pin of an IC or of a transistor: the board with a link at each of these."""
        return self._structure(context, "links", lambda: self._with_links(context))

    def _structure(self, context: Context, sort: str, made_of: Callable[[], _Structure]) -> tuple[Shared, Lanes]:
        if (context, sort) not in self._structures:
            made = Shared(*made_of(), remembers=not self._quick(context))
            self._structures[context, sort] = made, Lanes(self.circuit_in(context), made.network, self._plans)
        return self._structures[context, sort]

    def _with_links(self, context: Context) -> _Structure:
        """The board with links at the pins that hypotheses lift, and those that are none of the structure of most."""
        most, _ = self._shared(context)
        others = [edits for edits in self._all_edits(context) if not most.takes(edits)]
        lifts = dict.fromkeys(edit for edits in others for edit in edits if isinstance(edit, Lift))
        return linked(self._ground(context), list(lifts)), others

    def _all_edits(self, context: Context) -> list[tuple[Edit, ...]]:
        """What each hypothesis of the inference does to the netlist."""
        return [self._edits(k, context) for k in range(len(self.hypotheses))]

    def _own_network(self, number: int, context: Context) -> Network:
        """The board with one hypothesis: the board itself for none, a patch where that does, else built anew."""
        circuit, ground = self.circuit_in(context), self._ground(context)
        edits = self._edits(number, context)
        if not edits:
            return ground
        laid = patched(ground, edits, *self._before([number], context)) if self._quick(context) else None
        return laid if laid is not None else Network(circuit, (*edits, *ground.edits), state=ground.state.name)

    def _edits(self, number: int, context: Context) -> tuple[Edit, ...]:
        """What a hypothesis does to the netlist, fed in any way or not at all."""
        key = number, context.conditions, context.cold
        if key not in self._done_to:
            self._done_to[key] = edits_of(self.circuit_in(context), self.hypothesis(number), cold=context.cold)
        return self._done_to[key]

    def _quick(self, context: Context) -> bool:
        """Whether a fault may be laid on the board without one."""
        return context.cold or not self.remembers(context)

    def _ground(self, context: Context) -> Network:
        """The board in a context with nothing wrong in it, the unknown rest included."""
        if context not in self._grounds:
            circuit = self.circuit_in(context)
            extra = stray_edits(circuit, self.circuit.state(context.state), self.strays)
            self._grounds[context] = Network(circuit, extra, state=context.state)
        return self._grounds[context]

    def remembers(self, context: Context) -> bool:
        """Whether a healthy board may stand at more than one answer in any state.

        Then a fault is there from power-up, and not laid on the healthy point: that may have been passed through.
        """
        return any(self.has_several(replace(context, state=name)) for name in self.circuit_in(context).state_table)

    def has_several(self, context: Context) -> bool:
        """Whether a healthy board may stand at more than one answer."""
        return self.good(context).outcome.word == "several"

    def good(self, context: Context) -> Solution:
        """The board with nothing wrong and nothing hung on it."""
        if context not in self._good:
            self._good[context] = solve(self.circuit_in(context), state=context.state)
        return self._good[context]
