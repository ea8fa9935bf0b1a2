"""A board of bits: one bit per grid point, so that rooms, clearances and clashes are single ``&``."""

from collections.abc import Iterable
from dataclasses import dataclass

from shouldread.drawing.pose import Pose, Room
from shouldread.drawing.trunks import column

MARGIN = 2  # a stamp reaches this far beyond the pose: clearance and ways out of pins


@dataclass(frozen=True, slots=True)
class Stamp:
    """The bits of one pose: ``solid`` its rooms, ``pins``, ``keep`` where no other part may be.

    ``dx, dy``: where bit 0 lies off the piece's own point; ``reach``: its rooms and pins.
    """

    solid: int
    pins: int
    keep: int
    dx: int
    dy: int
    reach: Room


def room_bits(room: Room, width: int, dx: int = 0, dy: int = 0) -> int:
    """The bits of a rectangle of cells, with bit 0 at (dx, dy)."""
    x0, y0, x1, y1 = room
    row = ((1 << (x1 - x0 + 1)) - 1) * column(y1 - y0 + 1, width)
    return row << ((y0 - dy) * width + x0 - dx)


def _bits(points: Iterable[tuple[int, int]], width: int, dx: int, dy: int) -> int:
    mask = 0
    for x, y in points:
        mask |= 1 << ((y - dy) * width + x - dx)
    return mask


def stamp_of(pose: Pose, width: int) -> Stamp:
    """The bits of a pose on a board of that width."""
    x0, y0, x1, y1 = pose.reach
    dx, dy = x0 - MARGIN, y0 - MARGIN
    pins = _bits(((x, y) for x, y, _, _ in pose.pins), width, dx, dy)
    ways = _bits(((x + ux, y + uy) for x, y, ux, uy in pose.pins), width, dx, dy)
    solid = halo = 0
    for room in pose.rooms:
        solid |= room_bits(room, width, dx, dy)
        halo |= room_bits((room[0] - 1, room[1] - 1, room[2] + 1, room[3] + 1), width, dx, dy)
    return Stamp(solid & ~pins, pins, halo | pins | ways, dx, dy, (x0, y0, x1, y1))
