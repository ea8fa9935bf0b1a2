"""All poses of a piece: each orientation with each side its words may stand on."""

from collections.abc import Iterator

from shouldread.drawing.boxes import box_poses
from shouldread.drawing.pose import (
    DOWN,
    LEFT,
    RIGHT,
    UP,
    Flag,
    Place,
    Pose,
    Room,
    cells,
    reading_at,
    with_flags,
    words_room,
    written,
)
from shouldread.drawing.sheet import Piece
from shouldread.drawing.things import Move, Text
from shouldread.drawing.tolls import Conventions
from shouldread.drawing.unsure import unsure_marks
from shouldread.drawing.widths import text_width

TURNS: dict[str, Move] = {
    "V0": lambda x, y: (x, y),
    "V1": lambda x, y: (-x, -y),
    "H0": lambda x, y: (y, -x),
    "H1": lambda x, y: (-y, x),
}
_SORTS = ("part", "value")


def _beside(piece: Piece, x: float, anchor: str, y: float = 0.0) -> tuple[Text, ...]:
    """Name and value, one above the other, starting at x, centred on y."""
    first = y + (0.26 if len(piece.lines) == 1 else -0.14)
    return tuple(
        written(x, first + k, line, anchor, sort)
        for k, (line, sort) in enumerate(zip(piece.lines, _SORTS, strict=False))
    )


def _stacked(piece: Piece, edge: float, above: bool) -> Iterator[tuple[str, tuple[Text, ...]]]:
    """Name and value above or below a lying part: in one line, or in two."""
    joined = " ".join(piece.lines)
    y = -edge - 0.35 if above else edge + 0.95
    yield "1", (written(0, y, joined, "middle", "part"),)
    if len(piece.lines) > 1 and text_width(joined) > 3.2:
        top = y - 1.0 if above else y
        yield (
            "2",
            (
                written(0, top, piece.lines[0], "middle", "part"),
                written(0, top + 1, piece.lines[1], "middle", "value"),
            ),
        )


def _pose(
    name: str,
    piece: Piece,
    pins: tuple[Place, ...],
    body: Room,
    texts: tuple[Text, ...],
    toll: float,
    turn: Move,
    frame: tuple[float, float, float, float],
    rules: Conventions,
) -> Pose | None:
    words = [words_room(texts)] if texts else []
    found = with_flags(pins, piece.nodes, rules.hangs, words)
    if found is None:
        return None
    marks = unsure_marks(piece, pins, texts, turn)
    rooms = (body, *words, *(words_room([mark]) for mark in marks), *found.rooms)
    return Pose(name, pins, rooms, found.flags, (*texts, *marks), toll + found.toll, turn, frame)


def _standing(piece: Piece, flip: bool, rules: Conventions) -> Iterator[Pose | None]:
    symbol = piece.symbol
    pins = ((0, -2, *UP), (0, 2, *DOWN))
    top, bottom = piece.path if not flip else piece.path[::-1]
    left, right = (symbol.left, symbol.right) if not flip else (symbol.right, symbol.left)
    toll = rules.standing(piece, top, bottom)
    name = f"V{int(flip)}"
    for side, x, extra in (("r", right + 0.4, 0.0), ("l", -left - 0.4, 0.3)):
        texts = _beside(piece, x, "start" if side == "r" else "end")
        yield _pose(
            name + side,
            piece,
            pins[::-1] if flip else pins,
            (-1, -1, 1, 1),
            texts,
            toll + extra,
            TURNS[name],
            (-left, -symbol.long, right, symbol.long),
            rules,
        )


def _lying(piece: Piece, flip: bool, rules: Conventions) -> Iterator[Pose | None]:
    symbol = piece.symbol
    pins = ((-2, 0, *LEFT), (2, 0, *RIGHT))
    left, right = piece.path if not flip else piece.path[::-1]
    # turned to the left its right side comes on top; turned the other way its left side
    over, under = (symbol.right, symbol.left) if not flip else (symbol.left, symbol.right)
    toll = rules.lying(piece, left, right)
    name = f"H{int(flip)}"
    rows = cells(-over, under, 0.25)
    for above in (True, False):
        for lines, texts in _stacked(piece, over if above else under, above):
            extra = (0.0 if above else 0.4) + (0.2 if lines == "2" else 0.0)
            yield _pose(
                f"{name}{'a' if above else 'b'}{lines}",
                piece,
                pins[::-1] if flip else pins,
                (-1, rows[0], 1, rows[1]),
                texts,
                toll + extra,
                TURNS[name],
                (-symbol.long, -over, symbol.long, under),
                rules,
            )


def _upright(piece: Piece, inverted: bool, mirrored: bool, rules: Conventions) -> Pose | None:
    symbol, side = piece.symbol, -1 if mirrored else 1
    up = -1 if inverted else 1
    spots: dict[str, Place] = {
        "control": (-2 * side, 0, -side, 0),
        "top": (0, -2 * up, 0, -up),
        "bottom": (0, 2 * up, 0, up),
        "side": (2 * side, 0, side, 0),
    }
    pins = tuple(spots[symbol.place(k)] for k in range(len(piece.pins)))
    fourth = len(pins) > 3
    texts = _beside(piece, side * (symbol.right + 0.45), "start" if side > 0 else "end", -1.5 if fourth else 0.0)
    thick = cells(0, symbol.right)[1]
    body = (-1, -1, thick, 1) if side > 0 else (-thick, -1, 1, 1)
    frame = (-symbol.left, -symbol.long, symbol.right, symbol.long)
    if side < 0:
        frame = (-symbol.right, -symbol.long, symbol.left, symbol.long)
    toll = rules.upright(piece, mirrored, inverted)
    name = f"T{int(inverted)}{int(mirrored)}"
    return _pose(name, piece, pins, body, texts, toll, lambda x, y: (side * x, up * y), frame, rules)


def _on_its_side(piece: Piece, below: bool, mirrored: bool, rules: Conventions) -> Pose | None:
    """Lying: the main path from left to right, the control below or above."""
    symbol, out = piece.symbol, 1 if below else -1
    side = -1 if mirrored else 1
    spots: dict[str, Place] = {
        "control": (0, 2 * out, 0, out),
        "top": (-2 * side, 0, -side, 0),
        "bottom": (2 * side, 0, side, 0),
        "side": (0, -2 * out, 0, -out),
    }
    pins = tuple(spots[symbol.place(k)] for k in range(len(piece.pins)))
    if len(pins) > 3:
        return None
    edge = symbol.right
    (_, texts), *_ = _stacked(piece, max(edge, 0.1) + 0.2, below)
    thick = cells(0, symbol.right)[1]
    body = (-1, -thick, 1, 1) if below else (-1, -1, 1, thick)
    frame = (-symbol.long, -symbol.right, symbol.long, symbol.left)
    if not below:
        frame = (-symbol.long, -symbol.left, symbol.long, symbol.right)
    high, low = piece.path
    left, right = (high, low) if side > 0 else (low, high)
    toll = rules.on_its_side(piece, left, right, below)
    name = f"S{int(below)}{int(mirrored)}"
    return _pose(name, piece, pins, body, texts, toll, lambda x, y: (side * y, -out * x), frame, rules)


def tag_pose(node: str, output: bool) -> Pose:
    """A named tag: it points to the wire, its reading below."""
    side = 1 if output else -1
    wide = text_width(node, bold=True) + 0.5
    name = written(side * (0.6 + wide / 2 - 0.1), 0.3, node, "middle", "node", node)
    reading = reading_at(side * 0.6, 1.55, "end" if side < 0 else "start", node)
    reach = max(wide + 0.5, 0.6 + reading.width)
    columns = cells(-reach, -0.75) if side < 0 else cells(0.75, reach)
    room = (columns[0], -1, columns[1], 1)
    frame = (-0.5 - wide, -0.65, 0.0, 0.65) if side < 0 else (0.0, -0.65, 0.5 + wide, 0.65)
    return Pose(
        "right" if output else "left", ((0, 0, -side, 0),), (room,), (), (name, reading), 0.0, TURNS["V0"], frame
    )


def _all(piece: Piece, rules: Conventions) -> Iterator[Pose | None]:
    form = piece.symbol.form
    flips = (False, True)
    if form == "tag":
        yield tag_pose(piece.pins[0].node, piece.symbol.name == "output tag")
    elif form == "box":
        yield from box_poses(piece, rules)
    elif form == "two":
        for flip in flips:
            yield from _standing(piece, flip, rules)
            yield from _lying(piece, flip, rules)
    else:
        for a in flips:
            for b in flips:
                yield _upright(piece, a, b, rules)
                yield _on_its_side(piece, a, b, rules)


def poses_of(piece: Piece, rules: Conventions) -> tuple[Pose, ...]:
    """Every pose of a piece that its supplies and its hints allow, cheapest first."""
    found = [pose for pose in _all(piece, rules) if pose is not None]
    way = rules.sheet.hints.orient.get(piece.ref)
    if way:
        letters = "VT" if way == "V" else "HS"
        found = [pose for pose in found if pose.name[0] in letters] or found
    return tuple(sorted(found, key=lambda pose: pose.toll))


__all__ = ["Flag", "poses_of"]
