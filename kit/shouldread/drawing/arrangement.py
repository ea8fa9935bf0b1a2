"""Where the pieces of a stage stand so far, as bits on a board, and the wire shape chosen for each node."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shouldread.drawing.board import Stamp, stamp_of
from shouldread.drawing.pose import Pose
from shouldread.drawing.sheet import GROUND
from shouldread.drawing.stage import Stage
from shouldread.drawing.trunks import Ends, Shape, Trunks

Spot = tuple[int, int, int]  # pose number, x, y
Change = tuple[int, Spot]  # a piece, and where it goes
Masks = tuple[int, int, int]  # bits of a wire: flat, steep, joints
Segments = tuple[tuple[int, int, int, int], ...]

_EDGE = 8  # cells kept free along the board's edges: a label always finds room there
NO_WIRE: Masks = (0, 0, 0)
_REMEMBERED = 40_000


@dataclass(frozen=True, slots=True)
class Laid:
    """The wire of a node as chosen: its bits on the board and its straight pieces."""

    masks: Masks = NO_WIRE
    segments: Segments = ()


@dataclass(frozen=True, slots=True)
class Standing:
    """A piece on the board: bits of its rooms, its pins and its clearance, its reach, rows of its flags."""

    spot: Spot
    solid: int
    pins: int
    keep: int
    reach: tuple[int, int, int, int]
    rows: tuple[int, ...]
    ends: Ends
    toll: float


class Arrangement:
    """The state of a search: ``standing[piece]`` (None: not placed yet) and ``laid[net]``."""

    def __init__(self, stage: Stage, width: int, height: int, trunks: Trunks | None = None) -> None:
        self.stage = stage
        self.width, self.height = width, height
        self.trunks = trunks or Trunks(width)
        self.standing: list[Standing | None] = [None] * stage.size
        self.laid = [Laid()] * len(stage.nets)
        self._stood: dict[Change, Standing] = {}
        self._stamps: list[dict[int, Stamp]] = [{} for _ in range(stage.size)]

    @property
    def spots(self) -> list[Spot]:
        """Where each placed piece stands."""
        return [piece.spot for piece in self.standing if piece is not None]

    def at(self, piece: int) -> Standing:
        """A placed piece."""
        found = self.standing[piece]
        assert found is not None
        return found

    def pose(self, piece: int) -> Pose:
        """How a placed piece stands."""
        return self.stage.poses[piece][self.at(piece).spot[0]]

    def stamp(self, piece: int, pose: int) -> Stamp:
        """The bits of a pose of a piece."""
        known = self._stamps[piece]
        if pose not in known:
            known[pose] = stamp_of(self.stage.poses[piece][pose], self.width)
        return known[pose]

    def fits(self, piece: int, spot: Spot) -> bool:
        """Whether a piece there would lie on the board."""
        x0, y0, x1, y1 = self.stamp(piece, spot[0]).reach
        _, x, y = spot
        return x + x0 >= _EDGE and y + y0 >= _EDGE and x + x1 < self.width - _EDGE and y + y1 < self.height - _EDGE

    def stand(self, piece: int, spot: Spot) -> Standing:
        """A piece as it would be there; places tried before are remembered."""
        found = self._stood.get((piece, spot))
        if found is None:
            if len(self._stood) > _REMEMBERED:
                self._stood.clear()
            found = self._stood[piece, spot] = self._stand(piece, spot)
        return found

    def _stand(self, piece: int, spot: Spot) -> Standing:
        number, x, y = spot
        stamp, pose = self.stamp(piece, number), self.stage.poses[piece][number]
        shift = (y + stamp.dy) * self.width + x + stamp.dx
        x0, y0, x1, y1 = stamp.reach
        return Standing(
            spot,
            stamp.solid << shift,
            stamp.pins << shift,
            stamp.keep << shift,
            (x + x0, y + y0, x + x1, y + y1),
            tuple([-(y + f.y) if f.node == GROUND else 2 * (y + f.y) + f.down for f in pose.flags]),
            tuple([(x + px, y + py, ux, uy) for px, py, ux, uy in pose.pins]),
            pose.toll,
        )

    def load(self, spots: Sequence[Spot]) -> None:
        """Put every piece at its spot; wires are to be laid afterwards."""
        for piece, spot in enumerate(spots):
            self.standing[piece] = self.stand(piece, spot)

    def ends(self, net: int, but: Iterable[int] = ()) -> Ends:
        """The placed pins of a net with their ways out, those of some pieces left out."""
        left_out = set(but)
        return tuple(
            [
                piece.ends[k]
                for i, k in self.stage.nets[net].pins
                if (piece := self.standing[i]) is not None and i not in left_out
            ]
        )

    def solids(self) -> tuple[int, int]:
        """The rooms of all placed pieces, and all their pins."""
        solids = pins = 0
        for piece in self.standing:
            if piece is not None:
                solids |= piece.solid
                pins |= piece.pins
        return solids, pins

    def pin_bits(self, ends: Ends) -> int:
        """The bits of some pins."""
        bits = 0
        for x, y, _, _ in ends:
            bits |= 1 << (y * self.width + x)
        return bits

    def masks(self, shape: Shape, left: int, up: int) -> Masks:
        """The bits of a shape whose leftmost and topmost pins are there."""
        shift = (up + shape.up) * self.width + left + shape.left
        return shape.flat << shift, shape.steep << shift, shape.joints << shift
