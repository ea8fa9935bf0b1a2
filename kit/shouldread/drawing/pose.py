"""A pose: one way a piece may stand, with its pins, its words and the room all of that takes.

Grid units; x to the right, y down. Pins lie on even offsets, rooms are whole cells. The room for words
is as hard as the symbol itself: nothing else may use it, so words can never be struck by a wire.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from shouldread.drawing.sheet import GROUND
from shouldread.drawing.things import Point, Text
from shouldread.drawing.widths import ASCENT, DESCENT, text_width

Room = tuple[int, int, int, int]  # first column, first row, last column, last row
Place = tuple[int, int, int, int]  # of a pin: x, y and the way out of the part (ux, uy)

UP, DOWN, LEFT, RIGHT = (0, -1), (0, 1), (-1, 0), (1, 0)
WAYS = {"top": UP, "bottom": DOWN, "left": LEFT, "right": RIGHT}
GAP = 0.3  # least distance of words from a wire or another part, grid units
READING = "-00.00 V"  # the longest reading a drawing keeps room for
READING_WIDTH = text_width(READING)
BAR = 0.9  # half the bar of a rail flag


@dataclass(frozen=True, slots=True)
class Flag:
    """A supply flag or ground sign: ``x, y`` is where its stem starts, ``pin`` the pin it feeds."""

    node: str
    x: int
    y: int
    pin: int
    down: bool


@dataclass(frozen=True, slots=True)
class Pose:
    """One way to stand. ``toll`` is what it costs (grid units of wire), ``turn`` maps the symbol's strokes."""

    name: str
    pins: tuple[Place, ...]
    rooms: tuple[Room, ...]
    flags: tuple[Flag, ...]
    texts: tuple[Text, ...]
    toll: float
    turn: Callable[[float, float], Point]
    frame: tuple[float, float, float, float] = (0, 0, 0, 0)  # of the symbol itself: x0, y0, x1, y1

    @property
    def reach(self) -> Room:
        """The smallest room around everything."""
        rooms = (*self.rooms, *((x, y, x, y) for x, y, _, _ in self.pins))
        return (
            min(r[0] for r in rooms),
            min(r[1] for r in rooms),
            max(r[2] for r in rooms),
            max(r[3] for r in rooms),
        )


def cells(low: float, high: float, gap: float = GAP) -> tuple[int, int]:
    """First and last grid line that something from ``low`` to ``high`` keeps free of wires."""
    return math.ceil(low - gap + 1e-6), math.floor(high + gap - 1e-6)


def words_room(texts: Iterable[Text], across: float = GAP, up: float = 0.2) -> Room:
    """The cells taken by some lines of text, with the gaps kept beside and above them."""
    boxes = [text_box(text) for text in texts]
    x0, x1 = cells(min(b[0] for b in boxes), max(b[2] for b in boxes), across)
    y0, y1 = cells(min(b[1] for b in boxes), max(b[3] for b in boxes), up)
    return x0, y0, x1, y1


def text_box(text: Text) -> tuple[float, float, float, float]:
    """The rectangle that a text fills: x0, y0, x1, y1."""
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
    left = text.x - share * text.width
    return left, text.y - ASCENT, left + text.width, text.y + DESCENT


def written(x: float, y: float, text: str, anchor: str, sort: str, node: str = "") -> Text:
    """A text with the room it needs."""
    return Text(x, y, text, anchor, sort, node=node, width=text_width(text, sort == "node"))


def reading_at(x: float, y: float, anchor: str, node: str) -> Text:
    """Room for what a node reads."""
    return Text(x, y, "", anchor, "reading", node=node, width=READING_WIDTH)


def flag_texts(flag: Flag) -> tuple[Text, Text]:
    """Name and reading of a supply flag."""
    name_y, reading_y = (flag.y + 1.95, flag.y + 2.95) if flag.down else (flag.y - 2.3, flag.y - 1.3)
    name = written(flag.x, name_y, flag.node, "middle", "node", flag.node)
    return name, reading_at(flag.x, reading_y, "middle", flag.node)


def _flag_room(node: str, x: int, y: int, down: bool) -> Room:
    """The cells of a flag's sign and words."""
    if node == GROUND:
        return x - 1, y + 1, x + 1, y + 1
    bar = y + (1 if down else -1)
    x0, y0, x1, y1 = words_room(flag_texts(Flag(node, x, y, 0, down)))
    return min(x0, x - 1), min(y0, bar), max(x1, x + 1), max(y1, bar)


def _near(a: Room, b: Room, gap: int) -> bool:
    """Whether two rooms meet, or come closer than ``gap`` free cells."""
    return a[0] <= b[2] + gap and b[0] <= a[2] + gap and a[1] <= b[3] + gap and b[1] <= a[3] + gap


def _lane(place: Place) -> Room:
    """A pin and the two cells in front of it."""
    x, y, ux, uy = place
    return min(x, x + 2 * ux), min(y, y + 2 * uy), max(x, x + 2 * ux), max(y, y + 2 * uy)


def _stub(place: Place, length: int) -> Room:
    x, y, ux, _ = place
    return min(x + ux, x + length * ux), y, max(x + ux, x + length * ux), y


_MISFIT = 40.0  # toll of a flag that finds no place clear of the other pins
_LONGEST = 40  # stub of a flag


@dataclass(frozen=True, slots=True)
class Flags:
    """The flags of a pose, the rooms they take, and what it costs that one of them is in the way."""

    flags: tuple[Flag, ...]
    rooms: tuple[Room, ...]
    toll: float


def with_flags(
    pins: tuple[Place, ...], nodes: tuple[str, ...], hangs: Callable[[str], bool | None], taken: Iterable[Room] = ()
) -> Flags | None:
    """The flags of a pose, or None when one would have to point through the part.

    ``hangs(node)``: True for ground and negative supplies (flag below), False for a positive supply,
    None for a node that is wired. A sideways pin gets a stub first, long enough to pass the words that
    are ``taken``, the ways out of the other pins and the flags already standing.
    """
    downs = {k: down for k, node in enumerate(nodes) if (down := hangs(node)) is not None}
    if any(pins[k][3] and (pins[k][3] > 0) != down for k, down in downs.items()):
        return None
    flags: list[Flag] = []
    rooms: list[Room] = []
    signs: list[Room] = list(taken)
    toll = 0.0
    # from the outside in: flags that stand up from the top, those that hang from the bottom
    for k in sorted(downs, key=lambda k: (downs[k], pins[k][1] * (-1 if downs[k] else 1), k)):
        x, y, ux, _ = pins[k]
        lanes = [_lane(place) for j, place in enumerate(pins) if j != k]
        length = 2 * abs(ux)
        while (
            ux and length < _LONGEST and _in_the_way(_flag_room(nodes[k], x + length * ux, y, downs[k]), signs, lanes)
        ):
            length += 2
        sign = _flag_room(nodes[k], x + length * ux, y, downs[k])
        stub = [_stub(pins[k], length)] if ux else []
        crossed = any(_near(room, other, 0) for room in stub for other in signs)
        toll += _MISFIT if crossed or _in_the_way(sign, signs, lanes) else 0.0
        flags.append(Flag(nodes[k], x + length * ux, y, k, downs[k]))
        rooms += [sign, *stub]
        signs += [sign, *stub]
    return Flags(tuple(flags), tuple(rooms), toll)


def _in_the_way(sign: Room, signs: Iterable[Room], lanes: Iterable[Room]) -> bool:
    return any(_near(sign, other, 1) for other in signs) or any(_near(sign, lane, 0) for lane in lanes)
