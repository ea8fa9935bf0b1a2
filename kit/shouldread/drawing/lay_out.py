"""From circuit to drawing."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from random import Random
from typing import Literal

from shouldread.drawing.anneal import HOT, anneal, restore
from shouldread.drawing.arrangement import Arrangement, Spot
from shouldread.drawing.construct import construct
from shouldread.drawing.drawing import Drawing
from shouldread.drawing.kept import kept_positions
from shouldread.drawing.page import compose
from shouldread.drawing.panel import Panel, with_room
from shouldread.drawing.positions import Positions, sheet_key
from shouldread.drawing.sense import read_sense
from shouldread.drawing.sheet import Drawable, read_sheet
from shouldread.drawing.stage import Stage, split_stages
from shouldread.drawing.supplies import settle_supplies, with_tags
from shouldread.drawing.surroundings import Surroundings, lay
from shouldread.errors import RequestError

Effort = Literal["first", "polished", "printed"]

_MANY = 16  # pieces in one block above which a hint is offered
_WARM = 1.0  # heat of a search that must not tear a known picture apart
_OPENINGS: Mapping[str, int] = {"first": 1, "polished": 6, "printed": 6}
_TRIES: Mapping[str, int] = {"first": 1, "polished": 1, "printed": 6}  # searches of each block of a sheet


@dataclass(frozen=True, slots=True)
class _Wish:
    """How a sheet is to be laid out."""

    seed: int
    polished: bool
    tries: int
    openings: int
    known: Positions
    same: bool  # the known places are those of this very sheet
    nolabel: tuple[str, ...]
    tidied: bool  # whether a first picture may take the time to be tidied


def lay_out(
    circuit: Drawable,
    hints: Mapping[str, object] | None = None,
    seed: int = 0,
    effort: Effort = "first",
    positions: Positions | None = None,
) -> Drawing:
    """Draws a circuit: rails on top, ground at the bottom, the signal from left to right.

    ``hints`` stand in for those of the circuit. ``effort`` first: at once (a tenth of a second for forty
    parts); polished: searched for seconds, always the same for the same ``seed``; printed: searched as long as
    what the kit keeps, a minute and more for a board. ``positions`` of an
    earlier drawing of the same circuit are taken over as they stand, those of a circuit that was changed
    are where the new drawing starts; without any, a circuit of the shelf takes those kept with the kit.

    Raises UnknownNameError or RequestError for hints that cannot be followed, RequestError for an
    unknown effort.
    """
    if effort not in _OPENINGS:
        raise RequestError(f"effort is first, polished or printed, not {effort!r}.", value=effort, known=_OPENINGS)
    sheet = with_tags(settle_supplies(read_sheet(circuit, hints)))
    key = sheet_key(sheet)
    known = positions or kept_positions(key) or Positions()
    small = len(sheet.pieces) <= _MANY
    wish = _Wish(
        seed, effort != "first", _TRIES[effort], _OPENINGS[effort], known, known.key == key, sheet.hints.nolabel, small
    )
    stages = split_stages(sheet, read_sense(sheet))
    panels = [_panel(stage, wish) for stage in stages]
    return replace(compose(panels, sheet, key, tuple(_remarks(panels))), cost=sum(panel.cost for panel in panels))


def _board(stage: Stage, given: Mapping[int, Spot]) -> tuple[int, int]:
    """Width and height of a board with room for a stage."""
    area = 0
    for poses in stage.poses:
        x0, y0, x1, y1 = poses[0].reach
        area += (x1 - x0 + 4) * (y1 - y0 + 4)
    side = (area * 2.2) ** 0.5
    xs, ys = ([spot[axis] for spot in given.values()] or [0] for axis in (1, 2))
    return max(int(1.5 * side), max(xs) - min(xs)) + 40, max(int(1.2 * side), max(ys) - min(ys)) + 40


def _given(stage: Stage, known: Positions) -> dict[int, Spot]:
    """The known places of a stage's pieces, poses by number."""
    found: dict[int, Spot] = {}
    for i, piece in enumerate(stage.pieces):
        place = known.places.get(piece.name)
        if place is not None:
            number = next((k for k, pose in enumerate(stage.poses[i]) if pose.name == place[2]), None)
            if number is not None:
                found[i] = (number, place[0], place[1])
    return found


def _put_known(arrangement: Arrangement, given: Mapping[int, Spot]) -> None:
    """Known pieces where they stood, the whole moved to the middle of the board; what has no room waits."""
    if not given:
        return
    reaches = [(arrangement.stamp(i, spot[0]).reach, spot) for i, spot in given.items()]
    left, right = min(x + r[0] for r, (_, x, _) in reaches), max(x + r[2] for r, (_, x, _) in reaches)
    top, bottom = min(y + r[1] for r, (_, _, y) in reaches), max(y + r[3] for r, (_, _, y) in reaches)
    dx, dy = (arrangement.width - left - right) // 2, (arrangement.height - top - bottom) // 2
    for piece, (pose, x, y) in given.items():
        spot = (pose, (x + dx) // 2 * 2, (y + dy) // 2 * 2)
        around = Surroundings(arrangement, (piece,))
        if around.free(((piece, spot),)):
            around.settle(((piece, spot),))


def _started(stage: Stage, given: Mapping[int, Spot]) -> Arrangement:
    """Every piece in some free place."""
    width, height = _board(stage, given)
    while True:
        arrangement = Arrangement(stage, width, height)
        _put_known(arrangement, given)
        if construct(arrangement):
            return arrangement
        width, height = width * 3 // 2, height * 3 // 2


def _search(size: int) -> tuple[int, tuple[float, ...]]:
    """How many steps a search has, and with what heat each search starts."""
    if size > 20:
        return min(500 * size, 12000), (HOT,)
    heats = (HOT, HOT * 5 / 3, HOT * 4 / 3)
    return 300 * size, heats if size <= 9 else heats[:2]


def _panel(stage: Stage, wish: _Wish) -> Panel:
    given = _given(stage, wish.known)
    arrangement = _started(stage, given)
    if wish.same or not wish.polished or stage.size < 2:
        lay(arrangement)
        if wish.tidied and not given:
            anneal(arrangement, 25 * stage.size, Random(wish.seed), _WARM, _WARM)
        return with_room(arrangement, wish.nolabel, 0 if wish.same or stage.size > _MANY else wish.openings)
    if 2 * len(given) > stage.size:
        anneal(arrangement, 60 * stage.size, Random(wish.seed), _WARM, _WARM)
        return with_room(arrangement, wish.nolabel, wish.openings)
    start = arrangement.spots
    steps, heats = _search(stage.size)
    found = []
    for k, hot in enumerate(heats * wish.tries):
        restore(arrangement, start)
        cost = anneal(arrangement, steps, Random(1000 * wish.seed + k), hot)
        panel = with_room(arrangement, wish.nolabel, wish.openings)
        found.append(replace(panel, cost=panel.cost + cost))
    return min(found, key=lambda panel: panel.cost)


def _remarks(panels: list[Panel]) -> list[str]:
    remarks = []
    for panel in panels:
        parts = sum(piece.symbol.form != "tag" for piece in panel.stage.pieces)
        if parts > _MANY:
            busiest = max(panel.stage.nets, key=lambda net: len(net.pins))
            remarks.append(
                f"{parts} parts hang together here; the drawing hint flags = [{busiest.node!r}] would split them."
            )
    return remarks
