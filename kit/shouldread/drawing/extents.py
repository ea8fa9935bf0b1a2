"""The rectangles that drawn things fill."""

from collections.abc import Iterable

from shouldread.drawing.pose import text_box
from shouldread.drawing.things import Arc, Area, Line, Ring, Text, Thing
from shouldread.drawing.widths import text_width

Extent = tuple[float, float, float, float]


def extent(thing: Thing) -> Extent:
    """x0, y0, x1, y1 of a thing in grid units."""
    if isinstance(thing, Text):
        kept = max(thing.width, text_width(thing.text, thing.sort == "node"))
        return text_box(Text(thing.x, thing.y, thing.text, thing.anchor, width=kept))
    if isinstance(thing, Ring):
        return thing.x - thing.radius, thing.y - thing.radius, thing.x + thing.radius, thing.y + thing.radius
    if isinstance(thing, Arc):
        (x0, y0), (x1, y1) = thing.start, thing.end
        top = ((x0 + x1 + y1 - y0) / 2, (y0 + y1 + x0 - x1) / 2)  # of the bulge, to the left of the way
        return min(x0, x1, top[0]), min(y0, y1, top[1]), max(x0, x1, top[0]), max(y0, y1, top[1])
    assert isinstance(thing, (Line, Area))
    xs, ys = [x for x, _ in thing.points], [y for _, y in thing.points]
    return min(xs), min(ys), max(xs), max(ys)


def union(extents: Iterable[Extent]) -> Extent:
    """The smallest rectangle around some others."""
    rows = list(extents)
    return min(r[0] for r in rows), min(r[1] for r in rows), max(r[2] for r in rows), max(r[3] for r in rows)
