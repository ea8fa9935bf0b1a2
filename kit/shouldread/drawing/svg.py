"""A drawing as SVG: plain attributes only, every name escaped, nodes and parts marked with data attributes."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Protocol
from xml.sax.saxutils import escape, quoteattr

from shouldread.drawing.things import Arc, Area, Line, Ring, Text, Thing
from shouldread.drawing.widths import FACE, SIZE, UNIT, text_pixels

Attributes = dict[str, str]
_STROKES = {"heavy": 2.2, "rail": 2.0, "leader": 0.7}
_CLICK = 10  # radius of the disc that takes clicks, CSS pixels
_SPOT = 4
INK, PLATE = "#1a1a1a", "#ffffff"
MARKS: Mapping[str, str] = {
    "as it should be": "M-6,0 L-2,4 L6,-5",
    "too low": "M-6,-4 L6,-4 L0,6 Z",
    "too high": "M-6,4 L6,4 L0,-6 Z",
    "cannot tell": "M-5,0 L0,-5 L5,0 L0,5 Z",
    "next": "M-7,-7 L-3,-7 M-7,-7 L-7,-3 M7,7 L3,7 M7,7 L7,3 M-7,7 L-3,7 M-7,7 L-7,3 M7,-7 L3,-7 M7,-7 L7,-3",
}
_OPEN_MARKS = ("as it should be", "next")


class _Spot(Protocol):
    @property
    def node(self) -> str: ...
    @property
    def x(self) -> float: ...
    @property
    def y(self) -> float: ...
    @property
    def sort(self) -> str: ...


class _Drawn(Protocol):
    @property
    def things(self) -> tuple[Thing, ...]: ...
    @property
    def width(self) -> float: ...
    @property
    def height(self) -> float: ...
    @property
    def spots(self) -> Sequence[_Spot]: ...


def _number(value: float) -> str:
    text = f"{value:.1f}"
    return text[:-2] if text.endswith(".0") else text


def _points(points: tuple[tuple[float, float], ...]) -> str:
    return " ".join(f"{_number(x)},{_number(y)}" for x, y in points)


def _line(line: Line) -> list[object]:
    width = _STROKES.get(line.sort, 1.5)
    return ["polyline", _owned(line, {"points": _points(line.points), "fill": "none", "stroke-width": str(width)})]


def _area(area: Area) -> list[object]:
    return ["polygon", _owned(area, {"points": _points(area.points), "fill": "currentColor", "stroke": "none"})]


def _ring(ring: Ring) -> list[object]:
    filled = ring.sort == "dot"
    return [
        "circle",
        _owned(
            ring,
            {
                "cx": _number(ring.x),
                "cy": _number(ring.y),
                "r": _number(ring.radius * UNIT),
                "fill": "currentColor" if filled else "none",
            }
            | ({"stroke": "none"} if filled else {"stroke-width": "1.5"}),
        ),
    ]


def _arc(arc: Arc) -> list[object]:
    (x0, y0), (x1, y1) = arc.start, arc.end
    radius = _number(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 / 2)
    path = f"M{_number(x0)},{_number(y0)} A{radius},{radius} 0 0 1 {_number(x1)},{_number(y1)}"
    return ["path", _owned(arc, {"d": path, "fill": "none", "stroke-width": "1.5"})]


def _text(text: Text) -> list[object]:
    bold = text.sort == "node"
    attributes = _owned(
        text,
        {
            "x": _number(text.x),
            "y": _number(text.y),
            "text-anchor": text.anchor,
            "fill": "currentColor",
            "stroke": "none",
        }
        | ({"font-weight": "bold"} if bold else {}),
    )
    wide = text_pixels(text.text, bold)
    if text.text and (text.sort != "reading" or wide > text.width * UNIT):
        room = text.width * UNIT if text.sort == "reading" else wide
        attributes |= {"textLength": _number(room), "lengthAdjust": "spacingAndGlyphs"}
    return ["text", attributes, text.text]


def _owned(thing: Thing, attributes: Attributes) -> Attributes:
    owner = {"class": f"draw-{thing.sort}"}
    if thing.node:
        owner["data-node"] = thing.node
    if thing.part:
        owner["data-part"] = thing.part
    return owner | attributes


_WRITERS: Mapping[type, Callable[..., list[object]]] = {Line: _line, Area: _area, Ring: _ring, Arc: _arc, Text: _text}


def _filled(thing: Thing, values: Mapping[str, str]) -> Thing:
    if isinstance(thing, Text) and thing.sort == "reading":
        value = values.get(thing.node, "")
        return Text(thing.x, thing.y, value, thing.anchor, thing.sort, "", thing.node, thing.width)
    return thing


def _spot(spot: _Spot, mark: str, plate: bool) -> list[object]:
    """The clickable group of a spot: a disc to hit, the ring one sees, and the mark of a verdict."""
    at = {"cx": _number(spot.x), "cy": _number(spot.y)}
    inside = PLATE if plate else "none"
    children: list[object] = [
        [
            "circle",
            {"class": "draw-hit", **at, "r": str(_CLICK), "fill": "none", "stroke": "none", "pointer-events": "all"},
        ]
    ]
    if spot.sort == "wire":
        children.append(
            ["circle", {"class": "draw-spot", **at, "r": str(_SPOT), "fill": inside, "stroke-width": "1.5"}]
        )
    if mark in MARKS:
        fill = "none" if mark in _OPEN_MARKS else "currentColor"
        where = f"translate({_number(spot.x)} {_number(spot.y)})"
        shape = {"class": "draw-mark", "d": MARKS[mark], "transform": where, "fill": fill, "stroke-width": "2"}
        children.append(["path", shape])
    if mark:
        children.append(["title", {}, f"{spot.node}: {mark}"])
    return ["g", {"class": "draw-node", "data-node": spot.node} | ({"data-mark": mark} if mark else {}), children]


def svg_tree(drawing: _Drawn, values: Mapping[str, str], marks: Mapping[str, str], theme_free: bool) -> list[object]:
    """The elements of a drawing as nested lists."""
    width, height = _number(drawing.width), _number(drawing.height)
    ink = "currentColor" if theme_free else INK
    root = {
        "xmlns": "http://www.w3.org/2000/svg",
        "class": "draw-sheet",
        "width": width,
        "height": height,
        "viewBox": f"0 0 {width} {height}",
        "font-family": FACE,
        "font-size": _number(SIZE),
        "fill": "none",
        "stroke": ink,
        "color": ink,
        "stroke-linecap": "round",
        "stroke-linejoin": "round",
    }
    if theme_free:
        del root["color"]
    children: list[object] = []
    if not theme_free:
        children.append(["rect", {"width": width, "height": height, "fill": PLATE, "stroke": "none"}])
    for thing in drawing.things:
        shown = _filled(thing, values)
        children.append(_WRITERS[type(shown)](shown))
    children += [_spot(spot, marks.get(spot.node, ""), not theme_free) for spot in drawing.spots]
    return ["svg", root, children]


def _written(element: list[object]) -> Iterator[str]:
    tag, attributes = element[0], element[1]
    assert isinstance(attributes, dict)
    yield f"<{tag}" + "".join(f" {name}={quoteattr(value)}" for name, value in attributes.items())
    content = element[2] if len(element) > 2 else None
    if isinstance(content, str):
        yield f">{escape(content)}</{tag}>"
    elif isinstance(content, list):
        yield ">"
        for child in content:
            yield from _written(child)
        yield f"</{tag}>"
    else:
        yield "/>"


def svg_text(tree: list[object]) -> str:
    """Nested element lists as SVG text."""
    return "".join(_written(tree))
