"""Amps of pins and parts, summed up from the terminals of the primitives inside them."""

from collections.abc import Mapping

from shouldread.circuit import Asked, Circuit, Flat
from shouldread.parts import Lift, Part


def pin_amps(question: Asked, flat: Flat, terminals: Mapping[tuple[str, int], float]) -> dict[str, float]:
    """Amps into every pin (``"Q1.b"``) of every part: a short's count in its part, a cut pin has exactly 0.0.

    ``terminals``: amps into each terminal of each primitive (``("U1.M1", 0)``; a bridge is ``"bridge:NAME"``).
    """
    circuit = question.board
    pins = {f"{p.name}.{pin}": 0.0 for p in circuit.netlist.values() for pin in p.pins}
    for place, pin in flat.terminals.items():
        if pin in pins:
            pins[pin] += float(terminals.get(place, 0.0))
    _add_bridges(circuit, flat, terminals, pins)
    for name in _cut(question, flat):
        pins[name] = 0.0
    return pins


def part_amps(circuit: Circuit, pins: Mapping[str, float]) -> dict[str, float]:
    """Amps into the first pin of every part."""
    return {part.name: pins[f"{part.name}.{part.pins[0]}"] + 0.0 for part in circuit.netlist.values()}


def _add_bridges(
    circuit: Circuit, flat: Flat, terminals: Mapping[tuple[str, int], float], pins: dict[str, float]
) -> None:
    for bridge in flat.bridges:
        owner = circuit.netlist.get(bridge.owner)
        if owner is None:
            continue
        current = float(terminals.get((f"bridge:{bridge.name}", 0), 0.0))
        for pin in owner.pins:
            at = flat.places[f"{owner.name}.{pin}".casefold()]
            pins[f"{owner.name}.{pin}"] += current if at == bridge.a else -current if at == bridge.b else 0.0


def _cut(question: Asked, flat: Flat) -> list[str]:
    """Pins that nothing can flow into: lifted ones, and both of a two-pin part that is lifted or gone."""
    edits = (*question.board.edits, *question.edits)
    lifted = {f"{e.part}.{e.pin}".casefold() for e in edits if isinstance(e, Lift)}
    shorted = {b.owner for b in flat.bridges}
    found: list[str] = []
    for part in question.board.netlist.values():
        own = [f"{part.name}.{pin}" for pin in part.pins]
        loose = [pin for pin in own if pin.casefold() in lifted]
        if part.name not in shorted:
            found += own if len(own) == 2 and (loose or _gone(part, flat)) else loose
    return found


def _gone(part: Part, flat: Flat) -> bool:
    return part.name in flat.removed
