"""Which board the learner gets: the circuit with its true values drawn, and one fault hidden in it."""

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from shouldread.circuit import Circuit, load_circuit, shelf
from shouldread.diagnosis import stray_edits, strays
from shouldread.errors import UnknownNameError
from shouldread.faults import Fault
from shouldread.parts import Part, spreads_of
from shouldread.quantities import Spread

OBVIOUS = ("open", "short", "absent", "collector open", "base open", "collector-emitter short", "no output")
GRADUAL = ("drifted high", "drifted low", "leaky", "absent", "low")


def circuits_on(topic: str | None) -> list[Circuit]:
    """Fragments whose name, title or about holds the topic; all without one. Raises UnknownNameError."""
    entries = [e for e in shelf() if e.sort == "fragment"]
    if topic is not None:
        wanted = topic.casefold()
        hits = [e for e in entries if wanted in f"{e.name} {e.title} {e.about}".casefold().replace("_", " ")]
        if not hits:
            raise UnknownNameError("topic", topic, [e.name for e in entries], "the shelf")
        entries = hits
    return [load_circuit(e.name) for e in entries]


def pick_circuit(topic: str | None, dice: random.Random) -> Circuit:
    """One of the fragments on a topic; any fragment without one."""
    return dice.choice(circuits_on(topic))


@dataclass(frozen=True, slots=True)
class TrueBoard:
    """What this one board really has: values drawn from their spreads, and unseen paths where the rest is unknown."""

    circuit: Circuit
    ohms: Mapping[str, float]

    def at(self, state: str | None) -> Circuit:
        """The board in a state: where an unseen path up leads depends on which rail is live."""
        paths = stray_edits(self.circuit, self.circuit.state(state), strays(self.circuit))
        rest = tuple(replace(path, ohms=self.ohms[path.name], spread=None) for path in paths)
        return replace(self.circuit, edits=(*self.circuit.edits, *rest))


def true_board(circuit: Circuit, dice: random.Random) -> TrueBoard:
    """One board out of all that the circuit file describes."""
    netlist = {name: _drawn(part, dice) for name, part in circuit.netlist.items()}
    ohms = {path.name: draw(path.spread, dice) for path in strays(circuit)}
    return TrueBoard(replace(circuit, netlist=netlist), ohms)


def _drawn(part: Part, dice: random.Random) -> Part:
    if part.value is None:
        return part
    spread = dict(spreads_of(part)).get("value", part.value)
    return replace(part, value=Spread.exact(draw(spread, dice)))


def draw(spread: Spread, dice: random.Random) -> float:
    """One value out of a spread."""
    if spread.law == "exact":
        return spread.nominal
    if spread.law == "uniform":
        return dice.uniform(spread.low, spread.high)
    if spread.law == "log-uniform":
        return float(spread.low * (spread.high / spread.low) ** dice.random())
    return min(max(dice.gauss(spread.nominal, spread.sigma), spread.low), spread.high)


def pick_fault(circuit: Circuit, step: int, dice: random.Random) -> Fault:
    """A fault of the step: 1 obvious, 2 any, 3 gradual or a missing feed; its severity drawn; from 4 on a pair."""
    known = [f for f in circuit.single_faults if f.prior > 0]
    wanted: Sequence[str] = {1: OBVIOUS, 3: GRADUAL}.get(step, ())
    pool = [f for f in known if not wanted or f.mode in wanted] or known
    first = dice.choices(pool, [f.prior**0.5 for f in pool])[0]  # the square root: rare ones come up in practice too
    first = _graded(first, dice)
    if step < 4:
        return first
    second = _graded(dice.choice([f for f in known if f.parts != first.parts]), dice)
    return circuit.fault(f"{first} + {second}")[0]


def _graded(fault: Fault, dice: random.Random) -> Fault:
    if fault.severity_range is None:
        return fault
    low, high = fault.severity_range.low, fault.severity_range.high
    return fault.with_severity(float(f"{low * (high / low) ** dice.random():.3g}"))
