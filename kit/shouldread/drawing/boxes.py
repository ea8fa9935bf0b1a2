"""Poses of boxes: ICs and controlled elements, with free order and distance of the pins on each side."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice, permutations

from shouldread.drawing.pose import (
    DOWN,
    LEFT,
    READING_WIDTH,
    RIGHT,
    UP,
    Place,
    Pose,
    Room,
    cells,
    with_flags,
    words_room,
    written,
)
from shouldread.drawing.sheet import GROUND, Piece
from shouldread.drawing.things import Point, Text
from shouldread.drawing.tolls import Conventions
from shouldread.drawing.unsure import unsure_marks
from shouldread.drawing.widths import text_width

Sides = Mapping[str, tuple[int, ...]]  # side to pin numbers
_STEP = 0.3  # toll of one pin out of order, or of one step of pin distance


@dataclass(frozen=True, slots=True)
class Case:
    """The box itself: half width, top and bottom edge, and how many title lines stand in it."""

    half: int
    top: float
    bottom: float
    title: tuple[str, ...]
    inside: bool  # whether pin names stand inside


def _sides(piece: Piece, rules: Conventions) -> Sides:
    """The pins of each side; a flag that would point into the box goes to the opposite edge."""
    sides: dict[str, list[int]] = {"left": [], "right": [], "top": [], "bottom": []}
    for k, pin in enumerate(piece.pins):
        side, down = pin.side or "left", rules.hangs(pin.node)
        if side in ("top", "bottom") and down is not None:
            side = "bottom" if down else "top"
        sides[side].append(k)

    def order(k: int) -> tuple[int, int]:
        """Supplies on top, what goes to ground at the bottom, so that no flag stands in another pin's way."""
        down = rules.hangs(piece.pins[k].node)
        return (0 if down is None else 1 if down else -1), piece.pins[k].rank

    return {side: tuple(sorted(pins, key=order)) for side, pins in sides.items()}


def _orders(pins: tuple[int, ...], fixed: bool) -> list[tuple[int, ...]]:
    if fixed or len(pins) < 2:
        return [pins]
    if len(pins) <= 3:
        return list(permutations(pins))
    swapped = [(*pins[:k], pins[k + 1], pins[k], *pins[k + 2 :]) for k in range(len(pins) - 1)]
    raised = [(pins[k], *pins[:k], *pins[k + 1 :]) for k in range(2, len(pins))]
    return [pins, pins[::-1], *swapped, *raised]


def _pitches(pins: tuple[int, ...], fixed: int) -> tuple[int, ...]:
    if fixed:
        return (fixed,)
    return (2, 4, 6) if len(pins) > 1 else (2,)


def _inversions(order: Sequence[int], usual: Sequence[int]) -> int:
    ranks = [usual.index(pin) for pin in order]
    return sum(a > b for k, a in enumerate(ranks) for b in ranks[k + 1 :])


def _case(piece: Piece, sides: Sides, last: int) -> Case:
    names = {side: max([text_width(piece.pins[k].name) for k in pins] or [0.0]) for side, pins in sides.items()}
    inside = piece.symbol.name == "block"
    across = names["left"] + names["right"] + 1.4 if inside else 6.0
    spans = max(len(sides[side]) * _spacing(piece, sides[side]) for side in ("top", "bottom"))
    joined = " ".join(piece.lines)
    half = math.ceil(max(across, spans, *(text_width(line) + 0.6 for line in piece.lines)) / 2)
    half = max(3, half) + max(3, half) % 2
    title = (joined,) if text_width(joined) + 0.6 <= 2 * half else piece.lines
    top = -0.85 - len(title) - (1.1 if sides["top"] else 0.0)
    bottom = last + (2.0 if sides["bottom"] and inside else 1.0)
    return Case(half, top - 0.2, bottom, title, inside)


def _spacing(piece: Piece, pins: tuple[int, ...]) -> int:
    """Distance of pins on the top or bottom edge: room for their names, and for the words of their flags."""
    words = [text_width(piece.pins[k].name) for k in pins]
    words += [
        max(text_width(piece.pins[k].node, bold=True), READING_WIDTH) for k in pins if piece.pins[k].node != GROUND
    ]
    return max(4, 2 * math.ceil((max(words, default=0.0) + 1.2) / 2)) if len(pins) > 1 else 4


def _even(value: float, up: bool) -> int:
    return 2 * math.floor(value / 2) if up else 2 * math.ceil(value / 2)


def _places(
    piece: Piece, case: Case, sides: Sides, pitch: Mapping[str, int], orders: Mapping[str, tuple[int, ...]]
) -> dict[int, Place]:
    places: dict[int, Place] = {}
    for side, way in (("left", LEFT), ("right", RIGHT)):
        for row, k in enumerate(orders[side]):
            places[k] = (way[0] * (case.half + 2), row * pitch[side], *way)
    for side, way, edge in (("top", UP, case.top - 1.0), ("bottom", DOWN, case.bottom + 1.0)):
        step = _spacing(piece, sides[side])
        for column, k in enumerate(sides[side]):
            x = step * column - step * (len(sides[side]) - 1) // 2
            places[k] = (x - x % 2, _even(edge, side == "top"), *way)
    return places


def _pin_name(name: str, place: Place, case: Case) -> Text:
    x, y, ux, uy = place
    if ux:
        return written(ux * (case.half - 0.35), y + 0.25, name, "end" if ux > 0 else "start", "pin")
    edge = case.top + 0.95 if uy < 0 else case.bottom - 0.35
    return written(x, edge, name, "middle", "pin")


def _texts(piece: Piece, case: Case, places: Sequence[Place], sides: Sides) -> tuple[Text, ...]:
    first = case.top + 0.95 + (1.1 if sides["top"] else 0.0)
    texts = [written(0, first + k, line, "middle", "value" if k else "part") for k, line in enumerate(case.title)]
    if case.inside:
        texts += [_pin_name(pin.name, place, case) for pin, place in zip(piece.pins, places, strict=True)]
    return tuple(texts)


def _box(
    piece: Piece, sides: Sides, orders: Mapping[str, tuple[int, ...]], pitch: Mapping[str, int]
) -> tuple[Case, tuple[Place, ...]]:
    last = max(0, *(pitch[side] * (len(orders[side]) - 1) for side in ("left", "right")))
    case = _case(piece, sides, last)
    found = _places(piece, case, sides, pitch, orders)
    return case, tuple(found[k] for k in range(len(piece.pins)))


def box_poses(piece: Piece, rules: Conventions) -> Iterator[Pose | None]:
    """Every order of the pins on the left and right edges, at distances of 2, 4 or 6 grid units."""
    sides = _sides(piece, rules)
    fixed = piece.symbol.pitch
    for left in islice(_orders(sides["left"], fixed > 0), 12):
        for right in islice(_orders(sides["right"], fixed > 0), 6):
            for a in _pitches(sides["left"], fixed):
                for b in _pitches(sides["right"], fixed):
                    orders, pitch = {"left": left, "right": right}, {"left": a, "right": b}
                    toll = _STEP * (_inversions(left, sides["left"]) + _inversions(right, sides["right"]))
                    toll += 0.0 if fixed else _STEP * (a + b - 4) / 2
                    yield _one(piece, sides, orders, pitch, toll, rules)


def _one(
    piece: Piece,
    sides: Sides,
    orders: Mapping[str, tuple[int, ...]],
    pitch: Mapping[str, int],
    toll: float,
    rules: Conventions,
) -> Pose | None:
    case, places = _box(piece, sides, orders, pitch)
    found = with_flags(places, piece.nodes, rules.hangs)
    if found is None:
        return None
    rows = cells(case.top, case.bottom, 0.4)
    body = (-case.half - 1, rows[0], case.half + 1, rows[1])
    left, right = ("".join(f"{k}." for k in orders[side]) for side in ("left", "right"))
    name = f"B{left}{pitch['left']}-{right}{pitch['right']}"
    frame = (-case.half, case.top, case.half, case.bottom)
    texts = _texts(piece, case, places, sides)
    middle = max(0, *(pitch[side] * (len(orders[side]) - 1) for side in orders)) / 2

    def turn(x: float, y: float) -> Point:
        return x * case.half / 4, y + middle

    marks = unsure_marks(piece, places, texts, turn)
    rooms = (body, *_leads(places, rows), *(words_room([mark]) for mark in marks), *found.rooms)
    return Pose(name, places, rooms, found.flags, (*texts, *marks), toll + found.toll, turn, frame)


def _leads(places: Sequence[Place], rows: tuple[int, int]) -> Iterator[Room]:
    """The cells between the box and its upper and lower pins: no wire may pass there."""
    for x, y, _, uy in places:
        first, last = (y + 1, rows[0] - 1) if uy < 0 else (rows[1] + 1, y - 1)
        if uy and first <= last:
            yield x, first, x, last
