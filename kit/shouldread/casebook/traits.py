"""What makes two boards alike beside their readings: the shape of the stage, and the first wrong rail."""

import hashlib
from collections.abc import Iterable, Sequence
from functools import lru_cache

from shouldread.casebook.event import Event
from shouldread.casebook.said import AFTER, circuit_of, placed
from shouldread.circuit import Circuit, Rails
from shouldread.diagnosis import walk_rails
from shouldread.errors import KitError
from shouldread.parts import Part

TELLING = ("circuit", "sheet", "reading", "undone", "opened")  # kinds of events that can change a trait
ROUNDS = 4  # how far around a part its neighbours count
SYMMETRIC = ("R", "L", "C")  # may be drawn either way round


def traits_of(events: Sequence[Event]) -> tuple[str, ...]:
    """Traits of a case from its standing events: ``stage SHAPE`` for every stage, ``rail NAME VERDICT``."""
    try:
        stages = {f"stage {_shape(str(e.body['text']))}" for e in events if e.kind == "circuit"}
        return (*sorted(stages), *_first_wrong(events))
    except KitError:
        return ()  # a sheet or a reading that no walk takes: nothing to compare, and no reason not to keep it


@lru_cache(maxsize=256)  # a shop meets the same stages again and again
def _shape(text: str) -> str:
    return shape(circuit_of(text))


def _first_wrong(events: Sequence[Event]) -> tuple[str, ...]:
    sheet = next((str(e.body["text"]) for e in reversed(events) if e.kind == "sheet"), "")
    items = [
        item
        for event, found, circuit in placed(e for e in events if e.kind in ("circuit", "reading"))
        if circuit is None and not event.body.get("good")
        for item in found
        if AFTER not in getattr(item, "conditions", ())
    ]
    if not items:
        return ()
    walk = walk_rails(Rails.read(sheet), items)
    return (f"rail {walk.first_wrong.casefold()} {walk.verdicts[walk.first_wrong]}",) if walk.first_wrong else ()


def shape(circuit: Circuit) -> str:
    """A fingerprint of how parts hang together, whatever they and the nodes are called and whatever their values.

    Colour refinement (Weisfeiler and Leman 1968, from memory): each part takes on, pin by pin, what it hangs on.
    """
    pins = {name: part.nodes for name, part in circuit.netlist.items()}
    either_way = {name for name, part in circuit.netlist.items() if part.kind in SYMMETRIC}
    part_colour = {name: _sort(part) for name, part in circuit.netlist.items()}
    node_colour = {node: "ground" if node == "0" else "" for nodes in pins.values() for node in nodes}
    for _ in range(ROUNDS):
        hanging: dict[str, list[str]] = {node: [] for node in node_colour}
        for name, nodes in pins.items():
            for number, node in enumerate(nodes):
                hanging[node].append(f"{part_colour[name]}.{0 if name in either_way else number}")
        node_colour = {node: _digest([node_colour[node], *sorted(hung)]) for node, hung in hanging.items()}
        around = {name: [node_colour[node] for node in nodes] for name, nodes in pins.items()}
        part_colour = {
            name: _digest([part_colour[name], *(sorted(seen) if name in either_way else seen)])
            for name, seen in around.items()
        }
    return _digest(sorted(part_colour.values()))


def _sort(part: Part) -> str:
    """Kind letter, and what tells an NPN from a PNP, an amplifier from a gate."""
    return " ".join(
        filter(None, (part.kind, part.model.type if part.model else "", part.block.name if part.block else ""))
    )


def _digest(words: Iterable[str]) -> str:
    return hashlib.sha256("\n".join(words).encode()).hexdigest()[:24]
