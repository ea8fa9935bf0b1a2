"""The solve verb: one circuit, one state, one answer with its outcome."""

import math
from typing import Protocol

from shouldread.circuit import Asked, Circuit, Flat, Remembered, State, asked, flatten, state_edits
from shouldread.faults import Fault
from shouldread.parts import Edit
from shouldread.solve.build import build
from shouldread.solve.currents import terminal_amps
from shouldread.solve.others import others
from shouldread.solve.outcome import Outcome, Solution, named
from shouldread.solve.pins import part_amps, pin_amps
from shouldread.solve.steady import FAILED, FLOATS, RESTLESS, Rest, carried, power_up, resistances

DEFAULT_METER = 10e6  # ohm, input of a handheld on volts


class Loading(Protocol):
    """What a meter does to the node it reads."""

    @property
    def input_ohms(self) -> float:
        """Input resistance on volts."""


def solve(
    circuit: Circuit,
    *,
    state: str | None = None,
    fault: str | Fault | None = None,
    condition: str | None = None,
    meter_at: str | tuple[str, str] | None = None,
    meter: Loading | None = None,
) -> Solution:
    """What every node stands at, and every part carries, in one state of the circuit.

    Volts in V, amps in A into the first pin (a delivering supply is negative). ``fault``: a single fault or a pair;
    ``condition``: what was done to the board; ``meter_at``: the node (or red, black) that a meter loads.
    A node that nothing holds is nan. Raises UnknownNameError with the nearest name; what the circuit does oddly
    is in ``.outcome``.

    >>> import shouldread as sr
    >>> c = sr.load_circuit("* divider\\nV1 IN 0 12\\nR1 IN MID 1Meg\\nR2 MID 0 1Meg\\n")
    >>> round(sr.solve(c).volts["MID"], 3), round(sr.solve(c, meter_at="MID").volts["MID"], 3)
    (6.0, 5.714)
    """
    ohms = DEFAULT_METER if meter is None else meter.input_ohms
    question = asked(circuit, state=state, fault=fault, condition=condition, meter_at=meter_at, meter_ohms=ohms)
    flat, point = reach(question.board, question.state, question.edits)
    return _solution(question, flat, point)


def bits_reached(question: Asked) -> dict[str, int]:
    """Where every switch element comes to stand (``U1.S1`` -> 1 when on), from power-up to the state asked."""
    _, point = reach(question.board, question.state, question.edits)
    return _bits(point)


def chain(circuit: Circuit, target: State) -> tuple[State, ...]:
    """The states passed through from power-up to the asked one."""
    passed: list[State] = []
    for state in circuit.state_table.values():
        passed = [state] if state.start_from == "off" else [*passed, state]
        if state.name == target.name:
            return tuple(passed)
    return (target,)


_REACHED: Remembered[tuple[Flat, Rest]] = Remembered(128)


def reach(circuit: Circuit, target: State, edits: tuple[Edit, ...]) -> tuple[Flat, Rest]:
    """Run through the states up to the asked one; the fault is there from power-up."""
    return _REACHED.get(circuit, (target.name, edits), lambda: _run(circuit, target, edits))


def _run(circuit: Circuit, target: State, edits: tuple[Edit, ...]) -> tuple[Flat, Rest]:
    if target.name == "cold":
        flat = flatten(circuit, edits, cold=True)
        return flat, power_up(build(flat))
    flat = flatten(circuit, (*state_edits(circuit, target), *edits))
    net = build(flat)
    passed = chain(circuit, target)[:-1]
    before = reach(circuit, passed[-1], edits)[1] if passed else None
    return flat, power_up(net, carried(before, net))


def _bits(point: Rest) -> dict[str, int]:
    return {name: int(bit) for name, bit in zip(point.net.switch_names, point.bits, strict=True)}


def _solution(question: Asked, flat: Flat, point: Rest) -> Solution:
    circuit = question.board
    nodes = [n for n in flat.nodes if n in set(circuit.nodes)]
    bits = _bits(point)
    if point.net.loop or point.status in (FAILED, RESTLESS):
        outcome = _trouble(circuit, flat, point)
        nothing = {n: math.nan for n in nodes}
        pins = {f"{p.name}.{pin}": math.nan for p in circuit.netlist.values() for pin in p.pins}
        return Solution(nothing, dict.fromkeys(circuit.parts, math.nan), pins, outcome, bits)
    ohms = resistances(point)
    floating = tuple(n for n in nodes if ohms[point.net.index[n]] > FLOATS)
    volts = {n: math.nan if n in floating else float(point.x[point.net.index[n]]) for n in nodes}
    pins = pin_amps(question, flat, terminal_amps(point))
    return Solution(volts, part_amps(circuit, pins), pins, _judge(point, nodes, floating), bits)


def _judge(point: Rest, nodes: list[str], floating: tuple[str, ...]) -> Outcome:
    more = others(point)
    if more:
        answers = tuple({n: float(p.x[p.net.index[n]]) for n in nodes if n not in floating} for p in more)
        moved = tuple(n for n in answers[0] if any(abs(a[n] - point.x[point.net.index[n]]) > 1e-3 for a in answers))
        sentence = (
            f"several answers are possible: {named(moved)} may also stand elsewhere; "
            "shown is the one that is reached from power-up"
        )
        return Outcome("several", sentence, moved, floating, answers)
    if floating:
        return Outcome(
            "floating",
            f"nothing holds {named(floating)}: what is read there is the meter's own doing",
            floating,
            floating,
        )
    return Outcome("solved", "every node is held")


def _trouble(circuit: Circuit, flat: Flat, point: Rest) -> Outcome:
    if point.net.loop:
        parts = tuple(dict.fromkeys(flat.owner.get(n, n) for n in point.net.loop))
        return Outcome(
            "failed",
            f"{named(parts)} form a loop of ideal sources: put the resistance of the wire between them",
            parts,
        )
    if point.status == RESTLESS:
        switched = tuple(dict.fromkeys(flat.owner.get(n, n) for n in point.net.switch_names))
        return Outcome(
            "no steady state",
            f"it never comes to rest: {named(switched)} switches on, pulls its own feed down, and off again",
            switched,
        )
    return Outcome("failed", "no operating point was found; look for a part with an impossible value", ())
