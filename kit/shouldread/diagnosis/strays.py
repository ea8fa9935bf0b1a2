"""The rest of the board: what else may hang on a node of a traced fragment, as paths nobody has seen."""

from dataclasses import dataclass

from shouldread.circuit import Circuit, State, fed_in, feed_of
from shouldread.parts import Bridge
from shouldread.quantities import Spread

TO_GROUND = Spread.between(100e3, 10e6)  # what the rest of a board usually shows a dead line (own judgement)
TO_RAIL = Spread.between(300e3, 1e9)  # and how loosely, if at all, it leaks up to a live rail (own judgement)


@dataclass(frozen=True, slots=True)
class Stray:
    """An unseen path at a node: ``name`` is the same in every state, what it leads to may differ."""

    name: str
    node: str
    spread: Spread
    to_rail: bool


def strays(circuit: Circuit) -> tuple[Stray, ...]:
    """The unseen paths of every node whose surroundings are unknown; none where a source holds the node itself."""
    held = {node for part in circuit.netlist.values() if part.kind == "V" for node in part.nodes}
    found = []
    for node in circuit.nodes:
        facts = circuit.node_facts.get(node)
        rest = facts.rest if facts is not None and facts.rest else circuit.rest
        if node != "0" and node not in held and rest == "unknown":
            found.append(Stray(f"stray {node} down", node, TO_GROUND, to_rail=False))
            found.append(Stray(f"stray {node} up", node, TO_RAIL, to_rail=True))
    return tuple(found)


def live_rail(circuit: Circuit, state: State) -> str:
    """The highest rail that is fed in a state, or ground where none is (then what leaks up leaks down)."""
    best, node = 0.0, "0"
    for part in circuit.netlist.values():
        if feed_of(part) is None or "0" not in part.nodes:
            continue
        volts = 0.0 if state.name == "cold" else fed_in(part, state)
        if abs(volts) > best:
            best, node = abs(volts), next(n for n in part.nodes if n != "0")
    return node


def stray_edits(circuit: Circuit, state: State, found: tuple[Stray, ...]) -> tuple[Bridge, ...]:
    """The unseen paths as bridges whose ohms are free."""
    rail = live_rail(circuit, state)
    return tuple(
        Bridge(s.node, rail if s.to_rail else "0", s.spread.nominal, s.name, spread=s.spread)
        for s in found
        if not (s.to_rail and rail in ("0", s.node))
    )
