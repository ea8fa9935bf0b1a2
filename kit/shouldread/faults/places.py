"""Places on a board: nodes and pins, found whatever the case they are typed in."""

from collections.abc import Iterable, Mapping

from shouldread.parts import Part


def pin_name(part: Part, text: str) -> str | None:
    """A pin of a part by name (any case) or by number; None when it has no such pin."""
    return part.pin_named(text)


def pin_place(part: Part, pin: str) -> str:
    """``PART.pin`` in canonical spelling (the pin must be one of the part's)."""
    return f"{part.name}.{pin_name(part, pin)}"


def find_pin(text: str, parts: Mapping[str, Part]) -> tuple[Part, str] | None:
    """The part and pin that ``U1.3`` or ``q1.B`` names; ``parts`` by folded name, or of the package that bears it."""
    name, dot, pin = text.strip().rpartition(".")
    part = parts.get(name.casefold()) if dot else None
    of_package = [p for p in parts.values() if dot and str(p.facts.get("printed", "")).casefold() == name.casefold()]
    for hit in [part] if part is not None else of_package:
        found = pin_name(hit, pin)
        if found is not None:
            return hit, found
    return None


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
