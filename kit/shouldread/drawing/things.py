"""What a drawing is made of: lines, areas, rings, arcs and texts, each with what it stands for."""

from collections.abc import Callable
from dataclasses import dataclass, replace

Point = tuple[float, float]
Move = Callable[[float, float], Point]


@dataclass(frozen=True, slots=True)
class Line:
    """An open or closed polyline. ``sort``: wire, symbol, heavy, rail, ground, box, tag."""

    points: tuple[Point, ...]
    sort: str = "symbol"
    part: str = ""
    node: str = ""

    def moved(self, move: Move) -> "Line":
        """The same line elsewhere."""
        return replace(self, points=tuple(move(*point) for point in self.points))


@dataclass(frozen=True, slots=True)
class Area:
    """A filled polygon: an arrow head, a plate, the triangle of a diode."""

    points: tuple[Point, ...]
    sort: str = "symbol"
    part: str = ""
    node: str = ""

    def moved(self, move: Move) -> "Area":
        """The same area elsewhere."""
        return replace(self, points=tuple(move(*point) for point in self.points))


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle; ``sort`` dot is filled (where wires are joined), all others are outlines."""

    x: float
    y: float
    radius: float
    sort: str = "symbol"
    part: str = ""
    node: str = ""

    def moved(self, move: Move) -> "Ring":
        """The same circle elsewhere."""
        x, y = move(self.x, self.y)
        return replace(self, x=x, y=y)


@dataclass(frozen=True, slots=True)
class Arc:
    """Half a circle from one point to another, bulging to the left of the way there."""

    start: Point
    end: Point
    sort: str = "symbol"
    part: str = ""
    node: str = ""

    def moved(self, move: Move) -> "Arc":
        """The same arc elsewhere (a turn keeps the bulge; arcs are never mirrored)."""
        return replace(self, start=move(*self.start), end=move(*self.end))


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text on its baseline. ``anchor``: start, middle or end, as in SVG.

    ``sort``: part (its name), value (of the part), pin (of an IC), node (its name), reading (room for
    what the node should read; the text is filled in later). ``width`` is the room kept for it.
    """

    x: float
    y: float
    text: str
    anchor: str = "start"
    sort: str = "part"
    part: str = ""
    node: str = ""
    width: float = 0.0

    def moved(self, move: Move) -> "Text":
        """The same text elsewhere."""
        x, y = move(self.x, self.y)
        return replace(self, x=x, y=y)


Thing = Line | Area | Ring | Arc | Text


def of_part(thing: Thing, part: str) -> Thing:
    """The thing, said to belong to a part."""
    return replace(thing, part=part)


def of_node(thing: Thing, node: str) -> Thing:
    """The thing, said to belong to a node."""
    return replace(thing, node=node)
