"""What leads from rail to rail in a netlist, and what an enable hangs on."""

from collections.abc import Iterator
from dataclasses import dataclass

from shouldread.circuit import Circuit, feed_of
from shouldread.parts import KINDS, Part
from shouldread.quantities import Spread

PASSES = frozenset({"", "schottky", "rectifier"})  # a diode that feeds; others clamp, show or measure


@dataclass(frozen=True, slots=True)
class Link:
    """A part that carries a rail from ``a`` to ``b``. ``makes``: it converts or switches; ``enable``: what lets it.

    ``one_way``: from a to b only. ``by_hand``: a contact that a hand works.
    """

    part: str
    a: str
    b: str
    one_way: bool = False
    makes: bool = False
    enable: str = ""
    by_hand: bool = False

    def other(self, node: str) -> str | None:
        """Where the part leads from a node, or None."""
        if node == self.a:
            return self.b
        return self.a if node == self.b and not self.one_way else None


def links_of(circuit: Circuit) -> Iterator[Link]:
    """Every part that may carry a rail on; none of them stands at ground."""
    for part in circuit.netlist.values():
        link = _link(part)
        if link is not None and "0" not in (link.a, link.b) and link.a != link.b:
            yield link


def _link(part: Part) -> Link | None:
    detail = str(part.facts.get("detail", ""))
    nodes = dict(zip(part.pins, part.nodes, strict=True))
    if part.kind == "L" or (part.kind == "R" and (detail == "inside" or KINDS["R"].detail_of(part).series)):
        return Link(part.name, part.nodes[0], part.nodes[1], by_hand=detail == "button")
    if part.kind == "D" and detail in PASSES:
        return Link(part.name, part.nodes[0], part.nodes[1], one_way=True)
    if part.kind == "M" and part.model is not None and part.model.type == "PMOS":
        return Link(part.name, nodes["d"], nodes["s"], makes=True, enable=nodes["g"])
    if part.kind == "S":
        drive = next((n for n in part.nodes[2:] if n not in ("0", *part.nodes[:2])), "")
        return Link(part.name, part.nodes[0], part.nodes[1], makes=bool(drive), enable=drive, by_hand=not drive)
    roles = roles_of(part)
    if {"in", "out", "enable"} <= set(roles):
        return Link(part.name, roles["in"], roles["out"], one_way=True, makes=True, enable=roles["enable"])
    return None


def roles_of(part: Part) -> dict[str, str]:
    """The node at the first pin of each role that a block has."""
    found: dict[str, str] = {}
    if part.block is not None:
        for pin, node in zip(part.pins, part.nodes, strict=True):
            facts = part.block.pin_facts.get(pin)
            if facts is not None and facts.role:
                found.setdefault(facts.role, node)
    return found


def feeds_of(circuit: Circuit) -> dict[str, Spread | None]:
    """The nodes that a source holds against ground, with its volts: no signals, none at 0 V."""
    found: dict[str, Spread | None] = {}
    for part in circuit.netlist.values():
        if part.kind == "V" and part.facts.get("detail") != "signal" and part.value is not None:
            if part.nodes[1] == "0" and part.value.nominal:
                found[part.nodes[0]] = part.value
        elif part.block is not None and set(roles_of(part)) == {"out", "ground"}:
            found[roles_of(part)["out"]] = feed_of(part)
    return found


def lives(circuit: Circuit, node: str, links: tuple[Link, ...]) -> bool:
    """Whether something hangs on a node: more than what carries the rail, smooths or clamps it."""
    carries = {link.part: link for link in links if not link.by_hand}
    for part in circuit.netlist.values():
        if node not in part.nodes or part.kind in "CDV":
            continue
        link = carries.get(part.name)
        pins = [pin for pin, at in zip(part.pins, part.nodes, strict=True) if at == node]
        if link is None:
            if part.block is None or set(roles_of(part)) != {"out", "ground"}:
                return True
        elif (link.one_way and node != link.b) or (part.kind == "M" and "g" in pins):
            return True
    return False


def waits_behind(circuit: Circuit, node: str, rails: frozenset[str]) -> set[str]:
    """The rails that a node hangs on, across resistors, diodes and transistors, and from a block's output back."""
    found, seen, todo = set[str](), {node, "0"}, [node]
    while todo:
        here = todo.pop()
        if here in rails:
            found.add(here)
            continue
        for part in circuit.netlist.values():
            new = set(_drives(part, here)) - seen
            seen |= new
            todo += new
    return found


def _drives(part: Part, node: str) -> tuple[str, ...]:
    """What may set a node through a part: the far end of a resistor or diode, all of a transistor, a block's inputs."""
    if node not in part.nodes or part.kind in "CVI":
        return ()
    if part.block is None:
        if part.kind == "Q" or part.kind == "M":
            driven = part.nodes[0] == node or part.nodes[2] == node
            return part.nodes if driven else ()
        return part.nodes[:2]
    roles = roles_of(part)
    if roles.get("out") != node or "enable" in roles:
        return ()
    facts = part.block.pin_facts
    return tuple(n for pin, n in zip(part.pins, part.nodes, strict=True) if facts[pin].role in ("in", "supply"))
