"""Where the name and the reading of each wired node stand, and the spot one clicks."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from shouldread.drawing.board import room_bits
from shouldread.drawing.paths import Cell, Links
from shouldread.drawing.pose import Room, reading_at, words_room, written
from shouldread.drawing.things import Text


@dataclass(frozen=True, slots=True)
class Label:
    """The spot of a node and its two lines of text."""

    node: str
    x: int
    y: int
    texts: tuple[Text, ...]
    cover: Room
    cost: float
    leader: bool = False  # a line leads from the spot to the words


@dataclass(frozen=True, slots=True)
class _Offer:
    """A place for the words relative to the spot; ``flat``/``steep``: on which wires it may be used."""

    texts: tuple[Text, ...]
    room: Room  # clear of wires
    cover: Room  # clear of other words and symbols
    cost: float
    flat: bool


def _offers(node: str) -> Iterator[_Offer]:
    def offer(x: float, y: float, anchor: str, cost: float, flat: bool) -> _Offer:
        texts = (written(x, y, node, anchor, "node", node), reading_at(x, y + 1.0, anchor, node))
        return _Offer(texts, words_room(texts), words_room(texts, 0.5, 0.5), cost, flat)

    wide = math.ceil(max(text.width for text in offer(0, 0, "start", 0, True).texts))
    for off in dict.fromkeys((0, -1, 1, -2, -(wide // 2), 1 - wide)):
        yield offer(off - 0.35, -1.55, "start", 0.25 * abs(off), True)
        yield offer(off - 0.35, 1.4, "start", 1.2 + 0.25 * abs(off), True)
    for y, more in ((-0.1, 0.0), (-0.95, 0.1)):
        yield offer(0.6, y, "start", 0.6 + more, False)
        yield offer(-0.6, y, "end", 1.0 + more, False)


def _fits(room: Room, width: int, height: int) -> bool:
    return room[0] >= 1 and room[1] >= 1 and room[2] < width - 1 and room[3] < height - 1


def _shifted(room: Room, x: int, y: int) -> Room:
    x0, y0, x1, y1 = room
    return x0 + x, y0 + y, x1 + x, y1 + y


class LabelPlaces:
    """Free places for labels on a board of ``width`` by ``height`` cells.

    ``taken``: cells of wires, pins and rooms; ``words``: cells that words and symbols reach into.
    """

    def __init__(self, width: int, height: int, taken: int, words: int) -> None:
        self.width, self.height = width, height
        self.taken, self.words = taken, words

    def candidates(self, node: str, links: Links, pins: Sequence[Cell], crossed: int) -> list[Label]:
        """Every free place for a node's label, cheapest first."""
        found: list[Label] = []
        offers = list(_offers(node))
        for x, y in sorted(links) or pins:
            if crossed >> (y * self.width + x) & 1:
                continue
            around = links.get((x, y), ())
            flat = any(b == y for _, b in around) or not around
            steep = any(a == x for a, _ in around) or not around
            extra = 0.3 if (x, y) in pins else 0.0
            extra += 0.1 if len(around) > 2 else 0.0
            extra += 0.5 if self.words >> (y * self.width + x) & 1 else 0.0
            for offer in offers:
                if not (flat if offer.flat else steep):
                    continue
                label = self._label(node, x, y, offer, extra)
                if label is not None:
                    found.append(label)
        return sorted(found, key=lambda label: (label.cost, label.y, label.x))

    def _label(self, node: str, x: int, y: int, offer: _Offer, extra: float) -> Label | None:
        room, cover = _shifted(offer.room, x, y), _shifted(offer.cover, x, y)
        if not _fits(cover, self.width, self.height):
            return None
        if room_bits(room, self.width) & self.taken or room_bits(cover, self.width) & self.words:
            return None
        x0, y0, x1, y1 = room
        crowd = room_bits((x0 - 1, y0 - 1, x1 + 1, y1 + 1), self.width) & self.taken
        texts = tuple(replace(text, x=text.x + x, y=text.y + y) for text in offer.texts)
        return Label(node, x, y, texts, cover, offer.cost + extra + 0.06 * crowd.bit_count())

    def place(self, offers: dict[str, list[Label]]) -> tuple[list[Label], list[str]]:
        """One label for each node, those with least choice first; and the nodes that got none."""
        placed: list[Label] = []
        left: list[str] = []
        used = 0
        for node in sorted(offers, key=lambda name: (len(offers[name]), name)):
            free = (label for label in offers[node] if not room_bits(label.cover, self.width) & used)
            label = next(free, None)
            if label is None:
                left.append(node)
                continue
            placed.append(label)
            used |= room_bits(label.cover, self.width)
        return placed, left

    def led(self, node: str, cell: Cell, labels: Sequence[Label]) -> Label:
        """A label with a leader, at the nearest free place however far: the last resort."""
        used = self.words
        for label in labels:
            used |= room_bits(label.cover, self.width)
        offers = [offer for offer in _offers(node) if offer.flat][:1]
        (x, y), offer = cell, offers[0]
        for out in range(2, self.width + self.height):
            for dx, dy in _ring(out):
                room, cover = _shifted(offer.room, x + dx, y + dy), _shifted(offer.cover, x + dx, y + dy)
                if not _fits(cover, self.width, self.height):
                    continue
                if not (room_bits(room, self.width) & self.taken or room_bits(cover, self.width) & used):
                    texts = tuple(replace(text, x=text.x + x + dx, y=text.y + y + dy) for text in offer.texts)
                    return Label(node, x, y, texts, cover, offer.cost + out, True)
        raise AssertionError("a board always has free cells along its edges")


def _ring(out: int) -> Iterator[Cell]:
    """The cells at a distance, in a fixed order."""
    for k in range(-out, out + 1):
        yield from ((k, -out), (k, out), (-out, k), (out, k))
