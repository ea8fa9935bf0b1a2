"""Which board the learner gets: the circuit with its true values drawn, and one fault hidden in it."""

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from shouldread.circuit import Circuit, load_circuit, shelf
from shouldread.diagnosis import Masses, stray_edits, strays
from shouldread.errors import KitError, RequestError, UnknownNameError
from shouldread.faults import Fault
from shouldread.meter import Display, Meter, noise, shown
from shouldread.parts import Part, spreads_of
from shouldread.practice.sealing import opened
from shouldread.practice.telling import TRIGGERS
from shouldread.quantities import Spread

OBVIOUS = ("open", "short", "absent", "collector open", "base open", "collector-emitter short", "no output")
BEFOREHAND = Masses(healthy=0.0, steepness=0.5)  # something is hidden; the square root: rare ones come up too
MIDDLE = (0.2, 0.8)  # of the range of a severity, in its logarithm, from which one is drawn (own setting)
GRADUAL = ("drifted high", "drifted low", "leaky", "absent", "low")


@cache
def on_shelf(name: str) -> Circuit:
    """A circuit of the shelf, read once: what the kit has worked out about it serves the next exercise too."""
    return load_circuit(name)


def circuits_on(topic: str | None) -> list[Circuit]:
    """Fragments whose name, title or about holds the topic; all without one. Raises UnknownNameError."""
    entries = [e for e in shelf() if e.sort == "fragment"]
    if topic is not None:
        wanted = topic.casefold()
        hits = [e for e in entries if wanted in f"{e.name} {e.title} {e.about}".casefold().replace("_", " ")]
        if not hits:
            raise UnknownNameError("topic", topic, [e.name for e in entries], "the shelf")
        entries = hits
    return [on_shelf(e.name) for e in entries]


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


@dataclass(frozen=True, slots=True)
class Hidden:
    """What is hidden: the fault, what alone brings it out (``trigger``), and of a real board what its owner says.

    Its repr tells nothing; its text is the answer.
    """

    fault: Fault
    trigger: str = ""
    real: bool = False
    brief: str = ""

    def __repr__(self) -> str:
        return "Hidden()"

    def __str__(self) -> str:
        return f"{self.fault} when {self.trigger}" if self.trigger else str(self.fault)


def hide(circuit: Circuit, step: int, dice: random.Random) -> Hidden:
    """A fault of the step: 1 obvious, 2 any, 3 gradual or a missing feed, 4 an intermittent one, 5 a pair."""
    if step < 4:
        return Hidden(pick_fault(circuit, step, dice))
    if step == 4:
        return Hidden(pick_fault(circuit, 1, dice), dice.choice(sorted(TRIGGERS)))
    first = pick_fault(circuit, 2, dice)
    others = [f for f in circuit.single_faults if f.prior > 0 and not set(f.parts) & set(first.parts)]
    if not others:
        return Hidden(first)
    return Hidden(circuit.fault(f"{first} + {_graded(dice.choice(others), dice)}")[0])


def pick_fault(circuit: Circuit, step: int, dice: random.Random) -> Fault:
    """A single fault, its severity drawn: step 1 an obvious one, 2 any, 3 a gradual one or a missing feed."""
    known = [f for f in circuit.single_faults if f.prior > 0]
    wanted: Sequence[str] = {1: OBVIOUS, 3: GRADUAL}.get(step, ())
    pool = [f for f in known if not wanted or f.mode in wanted] or known
    first = dice.choices(pool, [f.prior**BEFOREHAND.steepness for f in pool])[0]
    return _graded(first, dice)


def read_hidden(circuit: Circuit, text: str) -> Hidden:
    """A fault as typed, or behind a token. Raises UnknownNameError for a fault that the circuit has not.

    A sealed fault that does not fit is not named: whoever sees the message may be the learner.
    """
    sealed = opened(text)
    if sealed is None:
        return Hidden(circuit.fault(text)[0])
    try:
        fault = circuit.fault(sealed["fault"])[0]
    except KitError:
        raise RequestError(
            f"what is sealed under {text} is no fault of {circuit.name}: is it another circuit?"
        ) from None
    return Hidden(fault, sealed["trigger"], bool(sealed["real"]), sealed["brief"])


def _graded(fault: Fault, dice: random.Random) -> Fault:
    """How bad it is: out of the middle of its range. At the ends a drift reads as nothing, or as a short."""
    if fault.severity_range is None:
        return fault
    low, high = fault.severity_range.low, fault.severity_range.high
    return fault.with_severity(float(f"{low * (high / low) ** dice.uniform(*MIDDLE):.3g}"))


def noisy(display: Display, meter: Meter, gains: dict[str, float], dice: random.Random) -> Display:
    """The display with this meter's own gain error (``gains``: one by setting for the whole exercise), fresh counts."""
    if display.value != display.value or display.over or display.rising:
        return display
    gain, count = noise(meter, display.setting, display.value)
    if display.setting not in gains:
        gains[display.setting] = dice.gauss(0, 1)
    value = display.value * (1 + gain * gains[display.setting]) + count * dice.gauss(0, 1)
    return shown(meter, display.setting, max(value, 0.0) if display.setting == "ohms" else value)
