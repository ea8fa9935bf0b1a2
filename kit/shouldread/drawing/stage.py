"""A stage: pieces joined by wires, laid out together; supplies are flags, so they join nothing."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

from shouldread.drawing.cut import connected, cut
from shouldread.drawing.pose import Pose
from shouldread.drawing.poses import poses_of
from shouldread.drawing.sense import Sense
from shouldread.drawing.sheet import GROUND, Piece, Sheet
from shouldread.drawing.tolls import Conventions

Order = tuple[int, int, float, int]  # left piece, right piece, weight, least distance
_LOAD_NAMES = ("RL", "RLOAD")


@dataclass(frozen=True, slots=True)
class Net:
    """A wired node: which pin of which piece hangs on it."""

    node: str
    pins: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Stage:
    """``levels``: how far right each piece belongs. ``nets_of``, ``before_of``: nets and order rows of each.

    ``twins_of``: pairs of boxes of one sort, which belong in one row or column.
    """

    pieces: tuple[Piece, ...]
    poses: tuple[tuple[Pose, ...], ...]
    nets: tuple[Net, ...]
    levels: tuple[float, ...]
    nets_of: tuple[tuple[int, ...], ...]
    before_of: tuple[tuple[Order, ...], ...]
    twins_of: tuple[tuple[tuple[int, int], ...], ...]

    @property
    def size(self) -> int:
        """How many pieces it has."""
        return len(self.pieces)


def piece_level(piece: Piece, sheet: Sheet, sense: Sense, top: float) -> float:
    """How far right a piece belongs, on the scale of the node levels."""
    level = sense.level
    own = [level[node] for node in piece.nodes if node in level]
    mean = sum(own) / len(own) if own else 0.0
    form = piece.symbol.form
    if form == "tag":
        return -2.0 if piece.symbol.name == "input tag" else top + 3.0
    if form == "three":
        control = str(piece.control)
        ends = [level[node] for node in piece.path if node in level]
        return level[control] + 0.8 if control in level else (sum(ends) / len(ends) if ends else 1.0)
    if form == "box":
        outs = [level[pin.node] for pin in piece.pins if pin.flow == "out" and pin.node in level]
        return (sum(outs) / len(outs) if outs else 2.0) - 1.5
    load = piece.ref in _LOAD_NAMES or piece.ref in sheet.hints.loads
    return top + 2.0 if load and GROUND in piece.nodes else mean


def _order_rows(
    pieces: tuple[Piece, ...], levels: tuple[float, ...], nets: tuple[Net, ...], lying: frozenset[str]
) -> tuple[Order, ...]:
    """Pairs of which one belongs left of the other; in a big stage only near ones, to save time."""
    near: set[tuple[int, int]] = set()
    for net in nets:
        near |= {(min(a, b), max(a, b)) for (a, _), (b, _) in combinations(net.pins, 2)}
    rows = []
    for a, b in combinations(range(len(pieces)), 2):
        gap = levels[b] - levels[a]
        if abs(gap) < 0.3 or (len(pieces) > 14 and (a, b) not in near and abs(gap) < 2.0):
            continue
        first, second = (a, b) if gap > 0 else (b, a)
        tagged = "tag" in (pieces[a].symbol.form, pieces[b].symbol.form)
        weight = (0.5 if tagged else 0.35) * min(1.5, abs(gap))
        # what hangs behind a fuse or coil stands behind it
        behind = pieces[first].name in lying and (a, b) in near
        rows.append((first, second, max(0.5, weight), 4) if behind else (first, second, weight, 2))
    return tuple(rows)


def _nets_of(size: int, nets: tuple[Net, ...]) -> tuple[tuple[int, ...], ...]:
    return tuple(tuple(n for n, net in enumerate(nets) if any(i == j for j, _ in net.pins)) for i in range(size))


def build_stage(pieces: tuple[Piece, ...], sheet: Sheet, sense: Sense, poses: Mapping[str, tuple[Pose, ...]]) -> Stage:
    """A stage of some pieces of the sheet."""
    pins: dict[str, list[tuple[int, int]]] = {}
    for i, piece in enumerate(pieces):
        for k, pin in enumerate(piece.pins):
            if not sheet.flagged(pin.node):
                pins.setdefault(pin.node, []).append((i, k))
    nets = tuple(Net(node, tuple(rows)) for node, rows in pins.items())
    top = max([*sense.level.values(), 1.0])
    levels = tuple(piece_level(piece, sheet, sense, top) for piece in pieces)
    rows = _order_rows(pieces, levels, nets, sense.lying)
    return Stage(
        pieces,
        tuple(poses[piece.name] for piece in pieces),
        nets,
        levels,
        _nets_of(len(pieces), nets),
        tuple(tuple(row for row in rows if i in row[:2]) for i in range(len(pieces))),
        _twins_of(pieces),
    )


def _twins_of(pieces: tuple[Piece, ...]) -> tuple[tuple[tuple[int, int], ...], ...]:
    boxes = [i for i, piece in enumerate(pieces) if piece.symbol.form == "box"]
    pairs = [(a, b) for a, b in combinations(boxes, 2) if pieces[a].lines[1:] == pieces[b].lines[1:]]
    return tuple(tuple(pair for pair in pairs if i in pair) for i in range(len(pieces)))


def split_stages(sheet: Sheet, sense: Sense) -> list[Stage]:
    """The stages of a sheet, from left to right by level; big ones cut where they can be."""
    rules = Conventions(sheet, sense)
    stages = []
    for numbers in connected(sheet.pieces, sheet):
        for group in cut(tuple(sheet.pieces[i] for i in numbers), sheet, sense.level):
            poses = {piece.name: poses_of(piece, rules) for piece in group}
            stages.append(build_stage(group, sheet, sense, poses))
    return sorted(stages, key=lambda stage: (sum(stage.levels) / stage.size, stage.pieces[0].name))


def split_net(stage: Stage, net: int, tags: tuple[Piece, ...], poses: tuple[Pose, ...]) -> Stage:
    """The stage with one node drawn as a tag at each of its pins instead of a wire."""
    old, size = stage.nets[net], stage.size
    own = tuple(Net(old.node, (place, (size + k, 0))) for k, place in enumerate(old.pins))
    nets = (*stage.nets[:net], *stage.nets[net + 1 :], *own)
    return Stage(
        (*stage.pieces, *tags),
        (*stage.poses, *(poses for _ in tags)),
        nets,
        (*stage.levels, *(0.0 for _ in tags)),
        _nets_of(size + len(tags), nets),
        (*stage.before_of, *(() for _ in tags)),
        (*stage.twins_of, *(() for _ in tags)),
    )
