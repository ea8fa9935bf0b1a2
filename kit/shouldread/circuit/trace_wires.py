"""Where traced ends meet: places that are one point get one node, named by what was typed first."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from shouldread.circuit.traced_part import TracedPart
from shouldread.errors import KitError, RequestError, UnknownNameError

GROUNDS = ("0", "gnd", "ground")
# a pin of a part that nobody typed yet is taken for a pin, not for a node with a dot in its name
_PIN = re.compile(r"(?:[CDFJKLMQRSTUXV]|CN|CR|FB|IC|LED|RT|RV|SW|VR|ZD)\d{1,5}[A-Z]?\.\w+", re.IGNORECASE | re.ASCII)

Point = tuple[str, str]  # ("", node) or (part, leg), folded


@dataclass(frozen=True, slots=True)
class Wires:
    """Which node every leg sits on (``(part, leg)``, folded part names), and what is wrong by line."""

    nodes: Mapping[Point, str]
    wrong: Mapping[int, str]

    def node(self, part: TracedPart, leg: str) -> str:
        """The node of a leg; one that leads nowhere has a node of its own, named by the leg."""
        return self.nodes.get((part.name.casefold(), leg)) or leg_place(part, leg)

    def is_wired(self, part: str, leg: str) -> bool:
        """Whether anything was said of where the leg goes."""
        return (part.casefold(), leg) in self.nodes


class _Joiner:
    """Points that are one are kept under one root; names in the order they were typed."""

    def __init__(self, parts: Mapping[str, TracedPart]) -> None:
        self.parts = parts
        self.root: dict[Point, Point] = {}
        self.names: dict[Point, list[str]] = {}

    def point(self, place: str) -> Point:
        """What a place names. Raises UnknownNameError for a pin that its part has not, or a part not typed yet."""
        folded = place.casefold()
        if folded in GROUNDS:
            return self._known(("", "0"), "0")
        owner, dot, pin = place.rpartition(".")
        part = self.parts.get(owner.casefold()) if dot else None
        if part is not None:
            leg = part.leg(pin)
            if leg is None:
                raise UnknownNameError("pin", pin, part.leg_names, part.name)
            return self._known((owner.casefold(), leg), f"{part.name}.{pin}")
        if _PIN.fullmatch(place):
            raise RequestError(
                f"{place}: there is no {owner} here yet; type what it is on a line of its own, such as "
                f"{owner} {'npn' if owner[:1].upper() == 'Q' else 'from A to B'}",
                value=place,
            )
        return self._known(("", folded), place)

    def _known(self, point: Point, name: str) -> Point:
        if point not in self.root:
            self.root[point], self.names[point] = point, [name]
        return point

    def find(self, point: Point) -> Point:
        """The root of a point."""
        while self.root[point] != point:
            point = self.root[point]
        return point

    def join(self, one: Point, other: Point) -> None:
        """Two points are one."""
        a, b = self.find(one), self.find(other)
        if a != b:
            self.root[b] = a
            self.names[a] += self.names.pop(b)


def wired(parts: Iterable[tuple[int, TracedPart]], joins: Iterable[tuple[int, str, str]]) -> Wires:
    """Join all ends. ``parts`` and ``joins`` (two places that are one point) come with their line's number."""
    listed = list(parts)
    joiner = _Joiner({part.name.casefold(): part for _, part in listed})
    wrong: dict[int, str] = {}

    def attempt(number: int, one: str, other: str) -> None:
        try:
            joiner.join(joiner.point(one), joiner.point(other))
        except KitError as error:
            wrong.setdefault(number, error.message)

    for number, part in listed:
        for leg, end in part.ends.items():
            attempt(number, end.place, leg_place(part, leg))
    for number, one, other in joins:
        attempt(number, one, other)
    nodes = {}
    for point in joiner.root:
        if point[0]:
            nodes[point] = _name(joiner.names[joiner.find(point)], joiner.parts)
    return Wires(nodes, wrong)


def leg_place(part: TracedPart, leg: str) -> str:
    """The place of a leg itself: ``Q1.b``, in a pair ``Q7.b1``."""
    half, dot, letter = leg.partition(".")
    return f"{part.name}.{letter}{1 + 'AB'.index(half)}" if dot else f"{part.name}.{leg}"


def _name(names: list[str], parts: Mapping[str, TracedPart]) -> str:
    """Ground before all, then the first name that is no pin's, else the pin as it was typed first."""
    if "0" in names:
        return "0"
    plain = [name for name in names if name.rpartition(".")[0].casefold() not in parts]
    return plain[0] if plain else names[0]
