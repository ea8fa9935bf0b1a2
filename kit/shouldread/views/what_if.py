"""What every point would read if a part had another value: the slider of the stage, as plain data."""

import math

from shouldread.circuit import Circuit
from shouldread.diagnosis import expect
from shouldread.errors import RequestError
from shouldread.parts import KINDS
from shouldread.quantities import say, si_number
from shouldread.views.stage import Look, StageFacts, places_of, short
from shouldread.views.words import State

WIDEST = 1e6  # times or part of the value that stands: beyond it is another part


def values_of(circuit: Circuit) -> list[State]:
    """Parts whose value can be moved, with the value that stands: those that carry direct current, and the feeds."""
    return [
        {"name": part.name, "value": say(part.value.nominal, KINDS[part.kind].unit)}
        for part in circuit.netlist.values()
        if part.value is not None and part.kind in "RVI" and part.value.nominal
    ]


def what_if(facts: StageFacts, name: str, factor: str) -> State:
    """Every point with a part at so many times its value: what it would read, and which leave their healthy band.

    Raises UnknownNameError, QuantityError, RequestError for a part without a value or a factor that is none.
    """
    part, times = facts.circuit.part(name), si_number(factor)[0]
    if part.value is None or not KINDS[part.kind].unit:
        raise RequestError(f"{part.name} is a {KINDS[part.kind].name} and has no value to move", value=name)
    if not (1 / WIDEST <= times <= WIDEST and math.isfinite(times)):
        raise RequestError(f"a factor between 1/{WIDEST:g} and {WIDEST:g} is meant", value=factor)
    value = part.value.nominal * times
    look = facts.look
    other = expect(
        conditioned(facts.circuit.with_values({part.name: value}), look),
        state=look.state or None,
        setting=look.setting,
        meter=look.meter,
    )
    typical: dict[str, str] = {}
    brief: dict[str, str] = {}
    moved: list[str] = []
    for place in places_of(facts.circuit, look.setting):
        healthy, now = facts.expectation[place].healthy, other[place].healthy
        typical[place], brief[place] = now.short, short(now.typical, look.setting)
        if not healthy.low <= now.typical <= healthy.high:
            moved.append(place)
    words = f"{part.name} at {say(value, KINDS[part.kind].unit, 3)}"
    return {"name": words, "typical": typical, "span": {}, "short": brief, "moved": moved}


def conditioned(circuit: Circuit, look: Look) -> Circuit:
    """The circuit with what is done to it in view."""
    for name in [part.strip() for part in look.condition.split(" and ") if part.strip()]:
        circuit = circuit.with_condition(name)
    return circuit
