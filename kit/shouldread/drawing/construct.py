"""A first picture at once: pieces one after the other, each at its cheapest free place beside its neighbours."""

from collections.abc import Iterator, Mapping

from shouldread.drawing.arrangement import Arrangement, Spot
from shouldread.drawing.stage import Stage
from shouldread.drawing.surroundings import INFINITE, Surroundings

_STEPS = (4, 6, 8, 12, 16)
_POSES = 8  # poses tried of one piece, the cheapest
_TARGETS = 3  # placed pins of a node that a new pin is lined up with


def wishes(arrangement: Arrangement, piece: int) -> Iterator[Spot]:
    """Spots where a pin of the piece is in line with a placed pin of its node."""
    stage = arrangement.stage
    for net in stage.nets_of[piece]:
        targets = arrangement.ends(net, (piece,))[-_TARGETS:]
        pins = [k for i, k in stage.nets[net].pins if i == piece]
        for number, pose in enumerate(stage.poses[piece][:_POSES]):
            for k in pins:
                px, py, _, _ = pose.pins[k]
                for tx, ty, ux, uy in targets:
                    for dx, dy in _offsets(ux, uy):
                        yield number, tx + dx - px, ty + dy - py


def _offsets(ux: int, uy: int) -> Iterator[tuple[int, int]]:
    """Along the target's way out, then beside it in every direction."""
    for step in _STEPS:
        yield ux * step, uy * step
        if ux:
            yield ux * step, -4
            yield ux * step, 4
        yield step, 0
        yield -step, 0
        yield 0, step
        yield 0, -step


def _anywhere(arrangement: Arrangement, piece: int, around: Surroundings) -> Iterator[Spot]:
    """Spots farther and farther out."""
    a, b, c, d = around.frame
    for out in range(0, max(arrangement.width, arrangement.height), 2):
        for pose in range(min(4, len(arrangement.stage.poses[piece]))):
            for x in range(a - out, c + out + 1, 4):
                yield pose, x - x % 2, (b - out) // 2 * 2
                yield pose, x - x % 2, (d + out) // 2 * 2
            for y in range(b - out, d + out + 1, 4):
                yield pose, (a - out) // 2 * 2, y - y % 2
                yield pose, (c + out) // 2 * 2, y - y % 2


def best_spot(arrangement: Arrangement, piece: int, around: Surroundings) -> Spot | None:
    """The cheapest free spot of a piece beside its neighbours, or any free spot; None on a full board."""
    limit, found = INFINITE, None
    for spot in dict.fromkeys(wishes(arrangement, piece)):
        if around.free(((piece, spot),)):
            price = around.price(((piece, spot),), limit)
            if price < limit:
                limit, found = price, spot
    if found is not None:
        return found
    return next((s for s in _anywhere(arrangement, piece, around) if around.free(((piece, s),))), None)


def next_piece(stage: Stage, placed: Mapping[int, object] | set[int]) -> int:
    """The piece with most of its nodes placed already; to begin with, the leftmost one."""
    todo = [piece for piece in range(stage.size) if piece not in placed]
    if not placed:
        return min(
            todo, key=lambda i: (stage.pieces[i].symbol.form == "tag", stage.levels[i], -len(stage.pieces[i].pins))
        )
    nets = {net for piece in placed for net in stage.nets_of[piece]}

    def tied(piece: int) -> tuple[float, float]:
        known = sum(net in nets for net in stage.nets_of[piece])
        return (-known / max(1, len(stage.nets_of[piece])) - 0.5 * known, stage.levels[piece])

    return min(todo, key=tied)


def construct(arrangement: Arrangement) -> bool:
    """Places every piece that has no place yet; False when the board is too small."""
    placed = {i for i, piece in enumerate(arrangement.standing) if piece is not None}
    while len(placed) < arrangement.stage.size:
        piece = next_piece(arrangement.stage, placed)
        around = Surroundings(arrangement, (piece,))
        middle = (0, arrangement.width // 6 * 2, arrangement.height // 4 * 2)
        spot = best_spot(arrangement, piece, around) if placed else middle
        if spot is None:
            return False
        around.settle(((piece, spot),))
        placed.add(piece)
    return True
