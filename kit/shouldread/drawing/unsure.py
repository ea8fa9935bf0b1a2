"""The question mark at a pin that was traced as unsure: it may sit elsewhere on the board."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from shouldread.drawing.extents import Extent, extent
from shouldread.drawing.pose import Place, text_box, written
from shouldread.drawing.sheet import Piece
from shouldread.drawing.things import Line, Move, Text

MARK = "?"
_BACK, _ASIDE, _DOWN = 0.15, 0.6, 0.25  # from the pin towards its part, beside the lead, to the middle of the sign


def unsure_marks(piece: Piece, pins: Sequence[Place], texts: Sequence[Text], turn: Move) -> tuple[Text, ...]:
    """A mark beside the lead of each unsure pin, on the side where nothing of the part stands."""
    shaky = [place for pin, place in zip(piece.pins, pins, strict=True) if pin.unsure]
    if not shaky:
        return ()
    words, strokes = [text_box(text) for text in texts], list(_strokes(piece, turn))

    def struck(mark: Text) -> int:
        room = text_box(mark)
        return 10 * sum(_meets(room, other) for other in words) + sum(_meets(room, other, 0.1) for other in strokes)

    return tuple(min(_beside(place), key=struck) for place in shaky)


def _beside(place: Place) -> Iterator[Text]:
    x, y, ux, uy = place
    for side in (1, -1):
        across = (side, 0) if uy else (0, -side)
        at = x - _BACK * ux + _ASIDE * across[0], y - _BACK * uy + _ASIDE * across[1] + _DOWN
        yield written(*at, MARK, "middle", "unsure")


def _strokes(piece: Piece, turn: Move) -> Iterator[Extent]:
    for stroke in piece.symbol.strokes:
        moved = stroke.moved(turn)
        lines = [Line(ends) for ends in pairwise(moved.points)] if isinstance(moved, Line) else [moved]
        yield from (extent(line) for line in lines)


def _meets(a: Extent, b: Extent, slack: float = 0.0) -> bool:
    return a[0] < b[2] - slack and b[0] < a[2] - slack and a[1] < b[3] - slack and b[1] < a[3] - slack
