"""A finished stage: every piece in place, every node wired or tagged, every label with room."""

from collections.abc import Sequence
from dataclasses import dataclass

from shouldread.drawing.anneal import restore
from shouldread.drawing.arrangement import Arrangement, Spot
from shouldread.drawing.board import room_bits
from shouldread.drawing.construct import construct
from shouldread.drawing.labels import Label, LabelPlaces
from shouldread.drawing.paths import Cell, Links, links_of
from shouldread.drawing.pose import Pose, cells, flag_texts, words_room
from shouldread.drawing.poses import tag_pose
from shouldread.drawing.routes import Router
from shouldread.drawing.sheet import GROUND
from shouldread.drawing.stage import Stage, split_net
from shouldread.drawing.supplies import tag
from shouldread.drawing.surroundings import lay, overlaps
from shouldread.drawing.things import Text

_UNLABELLED = 60.0  # what a label without a place costs, grid units


@dataclass(frozen=True, slots=True)
class Panel:
    """``wires``: links of each wired node. ``unwired``: nodes without a way. ``left``: without a label."""

    stage: Stage
    spots: tuple[Spot, ...]
    wires: tuple[Links, ...]
    labels: tuple[Label, ...]
    unwired: tuple[int, ...]
    left: tuple[str, ...]
    cost: float

    def pose(self, piece: int) -> Pose:
        """How a piece stands."""
        return self.stage.poses[piece][self.spots[piece][0]]


def all_texts(pose: Pose) -> list[Text]:
    """The words of a pose, those of its flags included."""
    return [*pose.texts, *(text for flag in pose.flags if flag.node != GROUND for text in flag_texts(flag))]


def _word_bits(arrangement: Arrangement) -> int:
    """The cells that words and symbols reach into."""
    bits = 0
    for piece, (_, x, y) in enumerate(arrangement.spots):
        pose = arrangement.pose(piece)
        rooms = [words_room([text], 0.5, 0.5) for text in all_texts(pose)]
        rooms += [(f.x - 1, row, f.x + 1, row) for f in pose.flags for row in (f.y + (1 if f.down else -1),)]
        x0, y0, x1, y1 = pose.frame
        across, down = cells(x0, x1, 0.5), cells(y0, y1, 0.5)
        for a, b, c, d in [*rooms, (across[0], down[0], across[1], down[1])]:
            bits |= room_bits((a + x, b + y, c + x, d + y), arrangement.width)
    return bits


def _tagged(stage: Stage) -> set[str]:
    return {piece.pins[0].node for piece in stage.pieces if piece.symbol.form == "tag"}


@dataclass(frozen=True, slots=True)
class _Wired:
    """Routes of an arrangement, and the places that are left for labels."""

    wires: tuple[Links, ...]
    unwired: tuple[int, ...]
    places: LabelPlaces
    crossed: int
    cost: float


def _wired(arrangement: Arrangement) -> _Wired:
    router = Router(arrangement)
    cost = router.run()
    laid = flat = steep = 0
    for route in router.routes:
        if route is not None:
            laid |= route.flat | route.steep
            flat, steep = flat | (route.flat & ~route.joints), steep | (route.steep & ~route.joints)
    solids, pins = arrangement.solids()
    places = LabelPlaces(arrangement.width, arrangement.height, solids | pins | laid, _word_bits(arrangement))
    wires = tuple(links_of(route.segments if route else ()) for route in router.routes)
    missing = (net for net, row in enumerate(arrangement.stage.nets) if len(row.pins) > 1)
    unwired = tuple(net for net in missing if router.routes[net] is None)
    return _Wired(wires, unwired, places, flat & steep, cost)


def _unlabelled(arrangement: Arrangement, nolabel: Sequence[str]) -> list[int]:
    """The nets whose node needs a label; one that has a tag is named already."""
    silent = _tagged(arrangement.stage) | set(nolabel)
    return [net for net, row in enumerate(arrangement.stage.nets) if row.node not in silent]


def finish(arrangement: Arrangement, nolabel: Sequence[str], lead: bool = False) -> Panel:
    """Wires and labels of an arrangement as it stands; ``lead``: what finds no place gets a leader."""
    stage = arrangement.stage
    found = _wired(arrangement)
    offers: dict[str, list[Label]] = {}
    cells: dict[str, list[Cell]] = {}
    for net in _unlabelled(arrangement, nolabel):
        node = stage.nets[net].node
        cells[node] = [(x, y) for x, y, _, _ in arrangement.ends(net)]
        offers[node] = found.places.candidates(node, found.wires[net], cells[node], found.crossed)
    labels, left = found.places.place(offers)
    total = found.cost + _UNLABELLED * len(left) + sum(label.cost for label in labels)
    if lead:
        for node in left:
            labels.append(found.places.led(node, cells[node][0], labels))
    spots = tuple(arrangement.spots)
    return Panel(stage, spots, found.wires, tuple(labels), found.unwired, tuple(left), total)


def _opened(spots: Sequence[Spot], axis: int, line: int, step: int) -> list[Spot]:
    """Everything from a line on moved away from it."""
    dx, dy = (step, 0) if axis == 1 else (0, step)
    return [(p, x + dx, y + dy) if (p, x, y)[axis] >= line else (p, x, y) for p, x, y in spots]


def _openings(arrangement: Arrangement, net: int) -> list[list[Spot]]:
    """Gaps that may help a node: beyond each of its pins, along the pin's way out and across it."""
    found = []
    for x, y, ux, uy in arrangement.ends(net):
        for axis, at, way, step in ((1, x, ux, 4), (2, y, uy, 2)):
            line = at + (1 if way > 0 else 0)
            found.append(_opened(arrangement.spots, axis, line, step))
    return [list(row) for row in dict.fromkeys(tuple(spots) for spots in found)]


def with_room(arrangement: Arrangement, nolabel: Sequence[str], openings: int) -> Panel:
    """A finished stage; rows and columns are opened until each label and wire has found its place.

    What has none after so many openings is not left out: a wire becomes a tag at each of its pins, a
    label gets a leader.
    """
    panel = finish(arrangement, nolabel)
    for _ in range(openings):
        if not panel.left and not panel.unwired:
            return panel
        better = _opened_best(arrangement, panel, nolabel)
        if better is None:
            break
        panel = better
    while panel.unwired:
        arrangement = tagged(arrangement, panel.unwired[0])
        panel = finish(arrangement, nolabel)
    return finish(arrangement, nolabel, lead=True) if panel.left else panel


def _opened_best(arrangement: Arrangement, panel: Panel, nolabel: Sequence[str]) -> Panel | None:
    """The best of the gaps that may help one node; None when none fits on the board."""
    nets = [row.node for row in panel.stage.nets]
    net = panel.unwired[0] if panel.unwired else nets.index(panel.left[0])
    best: Panel | None = None
    for spots in _openings(arrangement, net):
        if not all(arrangement.fits(piece, spot) for piece, spot in enumerate(spots)):
            continue
        restore(arrangement, spots)
        tried = None if overlaps(arrangement) else finish(arrangement, nolabel)
        if tried and (best is None or tried.cost < best.cost):
            best = tried
        restore(arrangement, list(panel.spots))
    if best:
        restore(arrangement, list(best.spots))
    return best


def tagged(arrangement: Arrangement, net: int) -> Arrangement:
    """The arrangement with a node drawn as named tags at its pins."""
    stage = arrangement.stage
    row = stage.nets[net]
    tags = tuple(
        tag(row.node, False, name=f"tag {row.node} at {stage.pieces[i].name}.{stage.pieces[i].pins[k].name}")
        for i, k in row.pins
    )
    poses = (tag_pose(row.node, False), tag_pose(row.node, True))
    return _grown(arrangement, split_net(stage, net, tags, poses))


def _grown(arrangement: Arrangement, stage: Stage) -> Arrangement:
    """The same places for a stage with more pieces, on a larger board if it takes one."""
    shift = 0
    while True:
        more = 2 * shift
        trunks = arrangement.trunks if shift == 0 else None
        result = Arrangement(stage, arrangement.width + more, arrangement.height + more, trunks)
        for piece, (pose, x, y) in enumerate(arrangement.spots):
            result.standing[piece] = result.stand(piece, (pose, x + shift, y + shift))
        if construct(result):
            lay(result)
            return result
        shift += 10
