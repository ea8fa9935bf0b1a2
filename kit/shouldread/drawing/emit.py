"""A finished stage as drawn things in grid units: strokes, wires, flags, tags, words."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from shouldread.drawing.extents import extent, union
from shouldread.drawing.panel import Panel
from shouldread.drawing.paths import Cell, runs
from shouldread.drawing.pose import BAR, Flag, Pose, flag_texts, words_room
from shouldread.drawing.sheet import GROUND, Piece
from shouldread.drawing.things import Line, Ring, Text, Thing, of_node, of_part

_JOINT = 0.22  # radius of the dot on a branch
_BAR_SPAN = 14  # flags of one supply that are at most so far apart share a bar
_GROUND_BARS = ((0.8, 0.8), (0.52, 1.1), (0.24, 1.4))


@dataclass(frozen=True, slots=True)
class FlagAt:
    """A flag on the sheet; ``silent`` when it hangs on the bar of a flag to its left."""

    flag: Flag
    piece: int
    x: int
    y: int
    pin: Cell
    silent: bool
    bar_to: int  # where the last flag of its bar stands

    @property
    def bar_y(self) -> int:
        """The row of its bar."""
        return self.y + (1 if self.flag.down else -1)


def flags_of(panel: Panel) -> list[FlagAt]:
    """All flags and ground signs of a panel; neighbours that share a bar keep one name."""
    found: list[FlagAt] = []
    for piece, (_, x, y) in enumerate(panel.spots):
        pose = panel.pose(piece)
        for flag in pose.flags:
            px, py, _, _ = pose.pins[flag.pin]
            found.append(FlagAt(flag, piece, x + flag.x, y + flag.y, (x + px, y + py), False, x + flag.x))
    rows: dict[tuple[str, int, bool], list[FlagAt]] = {}
    for flag_at in found:
        if flag_at.flag.node != GROUND:
            rows.setdefault((flag_at.flag.node, flag_at.y, flag_at.flag.down), []).append(flag_at)
    silent: set[tuple[int, int]] = set()
    reach: dict[tuple[int, int], int] = {}
    for row in rows.values():
        row.sort(key=lambda f: f.x)
        first = row[0]
        for left, right in pairwise(row):
            if right.x - left.x <= _BAR_SPAN and _clear(panel, left, right):
                silent.add((right.piece, right.flag.pin))
                reach[first.piece, first.flag.pin] = right.x
            else:
                first = right
    return [
        replace(f, silent=(f.piece, f.flag.pin) in silent, bar_to=reach.get((f.piece, f.flag.pin), f.x)) for f in found
    ]


def _clear(panel: Panel, left: FlagAt, right: FlagAt) -> bool:
    """Whether nothing lies between two flags of a row, where their bar and their words would run."""
    low, high = sorted((left.bar_y, left.bar_y + (3 if left.flag.down else -3)))
    for piece, (_, x, y) in enumerate(panel.spots):
        pose = panel.pose(piece)
        own = piece in (left.piece, right.piece)
        rooms = [words_room([text]) for text in pose.texts] if own else pose.rooms
        for x0, y0, x1, y1 in rooms:
            if x + x1 > left.x and x + x0 < right.x and y + y1 >= left.bar_y and y + y0 <= left.bar_y:
                return False
    cells = (cell for links in panel.wires for cell in links)
    words = (label.cover for label in panel.labels)
    if any(left.x < x < right.x and y == left.bar_y for x, y in cells):
        return False
    return not any(c[2] > left.x and c[0] < right.x and c[3] >= low and c[1] <= high for c in words)


def flag_things(flag_at: FlagAt, part: str) -> Iterator[Thing]:
    """Stem, bar and name of a flag, or a ground sign."""
    x, y, node = flag_at.x, flag_at.y, flag_at.flag.node
    start = flag_at.pin
    if node == GROUND:
        yield Line((start, (x, y), (x, y + 0.8)) if start != (x, y) else ((x, y), (x, y + 0.8)), "stem", "", node)
        for half, down in _GROUND_BARS:
            yield Line(((x - half, y + down), (x + half, y + down)), "ground", "", node)
        return
    bar = flag_at.bar_y
    stem = ((x, y), (x, bar)) if start == (x, y) else (start, (x, y), (x, bar))
    yield Line(stem, "stem", "", node)
    if not flag_at.silent:
        yield Line(((x - BAR, bar), (flag_at.bar_to + BAR, bar)), "rail", part, node)
        yield from flag_texts(replace(flag_at.flag, x=x, y=y))


def _box_things(piece: Piece, pose: Pose) -> Iterator[Thing]:
    x0, y0, x1, y1 = pose.frame
    yield Line(((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)), "box")
    for x, y, ux, uy in pose.pins:
        edge = (x1 if ux > 0 else x0, y) if ux else (x, y1 if uy > 0 else y0)
        yield Line(((x, y), edge))


def _tag_things(piece: Piece, pose: Pose) -> Iterator[Thing]:
    x0, _, x1, _ = pose.frame
    side = -1 if x0 < 0 else 1
    far = x0 if side < 0 else x1
    near = side * 0.5
    node = piece.pins[0].node
    yield Line(((0, 0), (near, -0.65), (far, -0.65), (far, 0.65), (near, 0.65), (0, 0)), "tag", node=node)


def piece_things(panel: Panel, piece: int) -> Iterator[Thing]:
    """The strokes and words of a piece where it stands."""
    thing, pose = panel.stage.pieces[piece], panel.pose(piece)
    _, dx, dy = panel.spots[piece]
    if thing.symbol.form == "tag":
        own = _tag_things(thing, pose)
    elif thing.symbol.form == "box":
        own = iter([*_box_things(thing, pose), *(stroke.moved(pose.turn) for stroke in thing.symbol.strokes)])
    else:
        own = (stroke.moved(pose.turn) for stroke in thing.symbol.strokes)
    for item in (*own, *pose.texts):
        part = "" if isinstance(item, Text) and item.node else thing.ref
        yield of_part(item.moved(lambda x, y: (x + dx, y + dy)), part)


def wire_things(panel: Panel) -> Iterator[Thing]:
    """The wires with a dot on every branch."""
    for net, links in zip(panel.stage.nets, panel.wires, strict=True):
        pins: dict[Cell, int] = {}
        for piece, pin in net.pins:
            x, y, _, _ = panel.pose(piece).pins[pin]
            cell = (x + panel.spots[piece][1], y + panel.spots[piece][2])
            pins[cell] = pins.get(cell, 0) + 1
        for line in runs(links, pins):
            yield Line(tuple((float(x), float(y)) for x, y in line), "wire", "", net.node)
        for cell in sorted(links):
            if len(links[cell]) + pins.get(cell, 0) >= 3:
                yield Ring(*cell, _JOINT, "dot", "", net.node)


def label_things(panel: Panel) -> Iterator[Thing]:
    """Names and room for readings of the wired nodes."""
    for label in panel.labels:
        if label.leader:
            x0, y0, x1, y1 = union(extent(text) for text in label.texts)
            near = (min(max(label.x, x0), x1), min(max(label.y, y0), y1))
            yield Line(((label.x, label.y), near), "leader", "", label.node)
        for text in label.texts:
            yield of_node(text, label.node)
