"""Finished stages put on one sheet: the drawing with its spots and boxes, in CSS pixels."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shouldread.drawing.drawing import Box, Drawing, PartBox, PinPlace, Spot
from shouldread.drawing.emit import FlagAt, flag_things, flags_of, label_things, piece_things, wire_things
from shouldread.drawing.extents import Extent, extent, union
from shouldread.drawing.pack import pack
from shouldread.drawing.panel import Panel
from shouldread.drawing.pose import BAR
from shouldread.drawing.positions import Place, Positions
from shouldread.drawing.sheet import GROUND, Sheet
from shouldread.drawing.things import Move, Text, Thing
from shouldread.drawing.widths import UNIT

_EDGE = 1.0  # grid units kept free around the sheet


@dataclass(frozen=True, slots=True)
class Placed:
    """A panel, its things in its own grid, and the move that puts it on the sheet."""

    panel: Panel
    flags: tuple[FlagAt, ...]
    things: tuple[Thing, ...]
    room: Extent


def draw_panel(panel: Panel, sheet: Sheet) -> Placed:
    """Everything of a stage as drawn things."""
    flags = tuple(flags_of(panel))
    things: list[Thing] = [*wire_things(panel)]
    for piece in range(panel.stage.size):
        things += piece_things(panel, piece)
    for flag in flags:
        things += flag_things(flag, _source_of(sheet, flag.flag.node))
    things += label_things(panel)
    return Placed(panel, flags, tuple(things), union(extent(thing) for thing in things))


def _source_of(sheet: Sheet, node: str) -> str:
    source = sheet.sources.get(node)
    return source.part if source else ""


def _move(dx: float, dy: float) -> Move:
    return lambda x, y: (round((x + dx) * UNIT + 0.5, 2), round((y + dy) * UNIT + 0.5, 2))


def _box(room: Extent, move: Move) -> Box:
    return (*move(room[0], room[1]), *move(room[2], room[3]))


def _words(things: Sequence[Text]) -> Extent | None:
    return union(extent(thing) for thing in things) if things else None


def _spots(placed: Placed, move: Move) -> Iterator[Spot]:
    """Wire spots first, then tags, then flags, then ground signs."""
    panel = placed.panel
    for label in panel.labels:
        room = _words(label.texts)
        yield Spot(label.node, *move(label.x, label.y), "wire", _box(room, move) if room else None)
    for i, piece in enumerate(panel.stage.pieces):
        if piece.symbol.form == "tag":
            _, x, y = panel.spots[i]
            texts = [text.moved(lambda a, b, x=x, y=y: (a + x, b + y)) for text in panel.pose(i).texts]  # type: ignore[misc]
            room = _words([text for text in texts if isinstance(text, Text)])
            yield Spot(piece.pins[0].node, *move(x, y), "tag", _box(room, move) if room else None)
    labelled = {label.node for label in panel.labels} | {
        piece.pins[0].node for piece in panel.stage.pieces if piece.symbol.form == "tag"
    }
    for net, links in zip(panel.stage.nets, panel.wires, strict=True):
        if net.node not in labelled:
            where = min(links) if links else _pin_cell(panel, *net.pins[0])
            yield Spot(net.node, *move(*where), "wire")
    for flag in placed.flags:
        down = flag.flag.node == GROUND
        texts_of = [] if down or flag.silent else [t for t in flag_things(flag, "") if isinstance(t, Text)]
        room = _words(texts_of)
        at = (flag.x, flag.y + 0.8) if down else (flag.x, flag.bar_y)
        yield Spot(flag.flag.node, *move(*at), "ground" if down else "flag", _box(room, move) if room else None)


def _pin_cell(panel: Panel, piece: int, pin: int) -> tuple[int, int]:
    x, y, _, _ = panel.pose(piece).pins[pin]
    return x + panel.spots[piece][1], y + panel.spots[piece][2]


def _boxes(placed: Placed, move: Move, sheet: Sheet) -> Iterator[PartBox]:
    panel = placed.panel
    for i, piece in enumerate(panel.stage.pieces):
        if not piece.ref:
            continue
        x0, y0, x1, y1 = panel.pose(i).frame
        _, dx, dy = panel.spots[i]
        room = (x0 + dx, y0 + dy, x1 + dx, y1 + dy)
        pins = tuple(PinPlace(pin.name, pin.node, *move(*_pin_cell(panel, i, k))) for k, pin in enumerate(piece.pins))
        yield PartBox(piece.ref, _box(room, move), pins)
    for flag in placed.flags:
        source = sheet.sources.get(flag.flag.node)
        if source:
            low, high = sorted((flag.bar_y - 0.08, flag.bar_y + 0.08))
            room = (flag.x - BAR, low, flag.x + BAR, high)
            pin = PinPlace(source.pin, flag.flag.node, *move(flag.x, flag.bar_y))
            yield PartBox(source.part, _box(room, move), (pin,))


def compose(panels: Sequence[Panel], sheet: Sheet, key: str, remarks: tuple[str, ...]) -> Drawing:
    """One sheet of all stages."""
    drawn = [draw_panel(panel, sheet) for panel in panels]
    sizes = [(one.room[2] - one.room[0], one.room[3] - one.room[1]) for one in drawn]
    things: list[Thing] = []
    spots: list[Spot] = []
    boxes: dict[str, PartBox] = {}
    places: dict[str, Place] = {}
    right = bottom = 0.0
    for one, (x, y), (wide, tall) in zip(drawn, pack(sizes), sizes, strict=True):
        # whole grid units keep lines crisp and places whole numbers
        dx, dy = math.ceil(x + _EDGE - one.room[0]), math.ceil(y + _EDGE - one.room[1])
        move = _move(dx, dy)
        places |= _places(one.panel, dx, dy)
        things += [thing.moved(move) for thing in one.things]
        spots += _spots(one, move)
        for box in _boxes(one, move, sheet):
            boxes.setdefault(box.part, box)
        right, bottom = max(right, x + wide), max(bottom, y + tall)
    ranked = sorted(spots, key=lambda spot: spot.room is None)
    width, height = ((size + 2 * _EDGE + 1) * UNIT for size in (right, bottom))
    return Drawing(tuple(things), tuple(ranked), tuple(boxes.values()), width, height, Positions(key, places), remarks)


def _places(panel: Panel, dx: int, dy: int) -> dict[str, Place]:
    return {
        piece.name: (x + dx, y + dy, panel.pose(i).name)
        for i, (piece, (_, x, y)) in enumerate(zip(panel.stage.pieces, panel.spots, strict=True))
    }
