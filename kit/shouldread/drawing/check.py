"""Checks of a finished drawing, from what is drawn alone: what is joined, what is struck, what crosses."""

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

import networkx as nx

from shouldread.drawing.drawing import Drawing
from shouldread.drawing.extents import Extent, extent
from shouldread.drawing.things import Line, Point, Ring, Text
from shouldread.drawing.widths import UNIT

_CONDUCTORS = ("wire", "stem", "rail")
_TOUCH = 0.25  # CSS pixels within which two points are one
_SLACK = 0.3  # CSS pixels by which rectangles may meet without a clash

Piece = tuple[Point, Point]


def _pieces(drawing: Drawing) -> list[Piece]:
    """Every straight piece of wire, stem and bar."""
    found: list[Piece] = []
    for thing in drawing.things:
        if isinstance(thing, Line) and thing.sort in _CONDUCTORS:
            found += zip(thing.points, thing.points[1:], strict=False)
    return found


def _lies_on(point: Point, piece: Piece) -> bool:
    (x0, y0), (x1, y1) = piece
    x, y = point
    inside = min(x0, x1) - _TOUCH <= x <= max(x0, x1) + _TOUCH and min(y0, y1) - _TOUCH <= y <= max(y0, y1) + _TOUCH
    return inside and (abs(x0 - x1) <= _TOUCH or abs(y0 - y1) <= _TOUCH)


def _joined(pieces: list[Piece]) -> "nx.Graph[int]":
    """Pieces are joined where the end of one lies on the other; where they only cross they are not."""
    graph: nx.Graph[int] = nx.Graph()
    graph.add_nodes_from(range(len(pieces)))
    for a, b in combinations(range(len(pieces)), 2):
        if any(_lies_on(end, pieces[b]) for end in pieces[a]) or any(_lies_on(end, pieces[a]) for end in pieces[b]):
            graph.add_edge(a, b)
    return graph


def verify(drawing: Drawing) -> tuple[str, ...]:
    """Whether the drawing says what the netlist says; one sentence per fault, empty when it is right.

    Nodes are found again from the lines alone (joined ends, flags and tags of one name) and compared
    with the node that each pin has in the netlist; branches must bear a dot and crossings none.
    """
    pieces = _pieces(drawing)
    graph: nx.Graph[object] = nx.Graph(_joined(pieces))
    for spot in drawing.spots:
        if spot.sort != "wire":
            _hang(graph, pieces, ("name", spot.node), _contact(drawing, spot.x, spot.y, spot.sort))
    pins = [(box.part, pin) for box in drawing.boxes for pin in box.pins]
    for part, pin in pins:
        _hang(graph, pieces, ("pin", part, pin.pin), (pin.x, pin.y))
        graph.add_edge(("pin", part, pin.pin), ("place", round(pin.x), round(pin.y)))
    group = {member: k for k, part in enumerate(nx.connected_components(graph)) for member in part}
    return tuple([*_wrong_nodes(group, pins), *_wrong_dots(drawing, pieces)])


def _contact(drawing: Drawing, x: float, y: float, sort: str) -> Point:
    """Where a named sign is connected: a ground sign above its bars, a flag on its bar, a tag at its tip."""
    return (x, y - 0.8 * UNIT) if sort == "ground" else (x, y)


def _hang(graph: "nx.Graph[object]", pieces: list[Piece], name: object, point: Point) -> None:
    graph.add_node(name)
    graph.add_edges_from((name, k) for k, piece in enumerate(pieces) if _lies_on(point, piece))


def _wrong_nodes(group: dict[object, int], pins: Sequence[tuple[str, object]]) -> Iterator[str]:
    first: dict[str, tuple[int, str]] = {}
    owner: dict[int, tuple[str, str]] = {}
    for part, pin in pins:
        name, node = f"{part}.{pin.pin}", pin.node  # type: ignore[attr-defined]
        own = group["pin", part, pin.pin]  # type: ignore[attr-defined]
        known = first.setdefault(node, (own, name))
        if known[0] != own:
            yield f"{name} is on {node} in the netlist, but not joined to {known[1]}."
        other = owner.setdefault(own, (node, name))
        if other[0] != node:
            yield f"{name} on {node} is joined to {other[1]} on {other[0]}."


def _wrong_dots(drawing: Drawing, pieces: list[Piece]) -> Iterator[str]:
    dots = [(ring.x, ring.y) for ring in drawing.things if isinstance(ring, Ring) and ring.sort == "dot"]
    wires = [
        piece
        for line in drawing.things
        if isinstance(line, Line) and line.sort == "wire"
        for piece in zip(line.points, line.points[1:], strict=False)
    ]
    for x, y in _crossing_points(wires):
        if any(abs(x - a) < _TOUCH and abs(y - b) < _TOUCH for a, b in dots):
            yield f"two wires that only cross bear a dot at {x:.0f}, {y:.0f}."
    pins = [(pin.x, pin.y) for box in drawing.boxes for pin in box.pins]
    for x, y in _branches(wires, pins):
        if not any(abs(x - a) < _TOUCH and abs(y - b) < _TOUCH for a, b in dots):
            yield f"a branch bears no dot at {x:.0f}, {y:.0f}."


def _branches(wires: list[Piece], pins: list[Point]) -> set[Point]:
    """Points where three wire ends or pins or more meet, at least one of them a wire."""
    count: dict[tuple[int, int], int] = {}
    at: dict[tuple[int, int], Point] = {}
    for piece in wires:
        for x, y in piece:
            key = (round(x), round(y))
            count[key] = count.get(key, 0) + 1
            at[key] = (x, y)
    for x, y in pins:
        key = (round(x), round(y))
        if key in count:
            count[key] += 1
    return {at[key] for key in sorted(count) if count[key] >= 3}


def _crossing_points(wires: list[Piece]) -> Iterator[Point]:
    flat = [piece for piece in wires if abs(piece[0][1] - piece[1][1]) < _TOUCH]
    steep = [piece for piece in wires if abs(piece[0][0] - piece[1][0]) < _TOUCH]
    for (x0, y), (x1, _) in flat:
        for (x, y0), (_, y1) in steep:
            if min(x0, x1) + _TOUCH < x < max(x0, x1) - _TOUCH and min(y0, y1) + _TOUCH < y < max(y0, y1) - _TOUCH:
                yield x, y


def crossings(drawing: Drawing) -> int:
    """How often one wire crosses another, the stem of a flag, or a lead or stroke of a part."""
    strokes = [line for line in drawing.things if isinstance(line, Line) and line.sort != "leader"]
    pieces = [(line, piece) for line in strokes for piece in pairwise(line.points)]
    wires = [piece for line, piece in pieces if line.sort == "wire"]
    others = [piece for line, piece in pieces if line.sort != "wire"]
    struck = sum(len({*_crossing_points([wire, other])}) for wire in wires for other in others)
    return sum(1 for _ in _crossing_points(wires)) + struck


def _pixels(text: Text) -> Extent:
    scaled = Text(text.x / UNIT, text.y / UNIT, text.text, text.anchor, text.sort, width=text.width)
    x0, y0, x1, y1 = extent(scaled)
    return x0 * UNIT, y0 * UNIT, x1 * UNIT, y1 * UNIT


def _hit(a: Extent, b: Extent) -> bool:
    return a[0] < b[2] - _SLACK and b[0] < a[2] - _SLACK and a[1] < b[3] - _SLACK and b[1] < a[3] - _SLACK


def _name(text: Text) -> str:
    return text.text or f"the reading of {text.node}"


def clashes(drawing: Drawing) -> tuple[str, ...]:
    """Words that meet other words, a wire, or the symbol of another part; empty when all is legible.

    Readings count with all the room kept for them. Pin names and titles stand inside their own box.
    """
    texts = [(thing, _pixels(thing)) for thing in drawing.things if isinstance(thing, Text)]
    lines = [line for line in drawing.things if isinstance(line, Line) and line.sort in (*_CONDUCTORS, "ground")]
    found = [f"{_name(a)} meets {_name(b)}" for (a, room), (b, other) in combinations(texts, 2) if _hit(room, other)]
    for text, room in texts:
        for line in lines:
            for (x0, y0), (x1, y1) in zip(line.points, line.points[1:], strict=False):
                stroke = (min(x0, x1) - 0.7, min(y0, y1) - 0.7, max(x0, x1) + 0.7, max(y0, y1) + 0.7)
                if _hit(room, stroke):
                    found.append(f"{_name(text)} meets a {line.sort} of {line.node}")
        for box in drawing.boxes:
            if box.part != text.part and _hit(room, box.box) and not _own_sign(text, box.part, drawing):
                found.append(f"{_name(text)} meets {box.part}")
    return tuple(found)


def _own_sign(text: Text, part: str, drawing: Drawing) -> bool:
    """Whether the text is the name inside the tag that stands for a source."""
    box = next(box for box in drawing.boxes if box.part == part)
    return text.sort == "node" and [pin.node for pin in box.pins] == [text.node]
