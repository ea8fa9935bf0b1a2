"""A finished drawing: drawn things, spots to click, boxes of parts. No screen in it."""

from collections.abc import Mapping
from dataclasses import dataclass

from shouldread.drawing.positions import Positions
from shouldread.drawing.svg import svg_text, svg_tree
from shouldread.drawing.things import Thing

Box = tuple[float, float, float, float]  # x0, y0, x1, y1 in CSS pixels


@dataclass(frozen=True, slots=True)
class Spot:
    """A place of a node that one can click and reach by keyboard.

    ``sort``: wire, flag, tag or ground. ``room`` is kept free for the node's name and reading (None on
    ground signs and on flags that share the name of their neighbour). The first spot of a node in the
    drawing is its main one.
    """

    node: str
    x: float
    y: float
    sort: str
    room: Box | None = None


@dataclass(frozen=True, slots=True)
class PinPlace:
    """Where a pin's wire begins."""

    pin: str
    node: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class PartBox:
    """The symbol of a part. A source that is drawn as a tag or flag has that as its symbol."""

    part: str
    box: Box
    pins: tuple[PinPlace, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A circuit as lines, arcs and texts in CSS pixels.

    ``spots``: of every node, main one first. ``boxes``: of every part that is shown. ``positions`` can be
    handed to ``lay_out`` again. ``remarks``: what could be drawn better, and which hint would help.
    ``cost``: wires, corners, crossings and broken conventions in grid units; of two polished drawings of
    one circuit the cheaper one is the better.
    """

    things: tuple[Thing, ...]
    spots: tuple[Spot, ...]
    boxes: tuple[PartBox, ...]
    width: float
    height: float
    positions: Positions
    remarks: tuple[str, ...] = ()
    cost: float = 0.0

    def spots_of(self, node: str) -> tuple[Spot, ...]:
        """All spots of a node, main one first."""
        return tuple(spot for spot in self.spots if spot.node == node)

    def to_svg(
        self,
        values: Mapping[str, str] | None = None,
        marks: Mapping[str, str] | None = None,
        theme_free: bool = True,
    ) -> str:
        """The drawing as SVG text.

        ``values``: node to what is written under its name. ``marks``: node to a verdict (``as it should
        be``, ``too low``, ``too high``, ``cannot tell``, ``next``), shown by shape and told in words.
        ``theme_free``: ink is ``currentColor`` and there is no ground; else dark ink on a white plate,
        for use as an image.
        """
        return svg_text(self.to_tree(values, marks, theme_free))

    def to_tree(
        self,
        values: Mapping[str, str] | None = None,
        marks: Mapping[str, str] | None = None,
        theme_free: bool = True,
    ) -> list[object]:
        """The same as nested ``[tag, attributes, children or text]`` lists, to be built node by node."""
        return svg_tree(self, values or {}, marks or {}, theme_free)
