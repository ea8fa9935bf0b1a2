"""Places on a board: nodes and pins, found whatever the case they are typed in."""

from collections.abc import Iterable, Mapping

from shouldread.parts import Part


def pin_name(part: Part, text: str) -> str | None:
    """A pin of a part by name (any case) or by number in netlist order; None when it has no such pin."""
    for name in part.pins:
        if name.casefold() == text.casefold():
            return name
    if text.isdigit() and 1 <= int(text) <= len(part.pins):
        return part.pins[int(text) - 1]
    return None


def pin_place(part: Part, pin: str) -> str:
    """``PART.pin`` in canonical spelling (the pin must be one of the part's)."""
    return f"{part.name}.{pin_name(part, pin)}"


def find_pin(text: str, parts: Mapping[str, Part]) -> tuple[Part, str] | None:
    """The part and pin that ``U1.3`` or ``q1.B`` names; ``parts`` by folded name. None when nothing does."""
    name, dot, pin = text.strip().rpartition(".")
    part = parts.get(name.casefold()) if dot else None
    found = pin_name(part, pin) if part is not None else None
    return (part, found) if part is not None and found is not None else None


def find_node(text: str, nodes: Iterable[str]) -> str | None:
    """The node that a text names, in any case; ``0``, ``GND`` and ``ground`` name ground."""
    folded = text.strip().casefold()
    if folded in ("0", "gnd", "ground"):
        return "0"
    return next((node for node in nodes if node.casefold() == folded), None)


def find_place(text: str, parts: Mapping[str, Part], nodes: Iterable[str]) -> str | None:
    """A node or pin in canonical spelling, or None; a node's name wins over a pin's."""
    node = find_node(text, nodes)
    if node is not None:
        return node
    hit = find_pin(text, parts)
    return pin_place(*hit) if hit is not None else None


def nodes_of(parts: Iterable[Part]) -> tuple[str, ...]:
    """Every node that the parts touch, in order of first mention."""
    return tuple(dict.fromkeys(node for part in parts for node in part.nodes))
