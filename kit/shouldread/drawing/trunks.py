"""How a wired node would be drawn: a straight trunk, and from each pin a straight branch to it.

For two pins these are the two L shapes and the Z between them; for more pins the bus a draughtsman
would draw. Shapes are priced in grid units and kept as bit masks, one bit per grid point, so that a
clash between two wires is one ``&``.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

BEND = 2.5  # a visible corner
WRONG = 5.0  # a wire that leaves a pin through its part
ASIDE = 0.5  # a standing pin that hangs on a horizontal trunk
TIP = 2.0  # one that hangs on its end: a corner at the pin
BRANCHED = 2.0  # a standing pin at the end of a horizontal branch: the wire turns at its tip
ALONG = 5.0  # a wire that leaves a lying pin up or down
PASSED = 1.0  # a trunk that passes the tip of a lying pin
ABOVE = 0.5  # per grid unit that a part hangs from above the line of its node, or stands below it
JOG = 2.0  # pins on one trunk side that miss a common line

Pin = tuple[int, int, int, int]  # x, y and the way out
Ends = tuple[Pin, ...]
Segments = tuple[tuple[int, int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Shape:
    """A way to draw a node, relative to its leftmost and topmost pin: cost, and the cells it uses.

    ``flat``: cells passed horizontally, ``steep``: vertically, ``joints``: corners, branches and ends.
    """

    cost: float
    flat: int
    steep: int
    joints: int
    left: int
    up: int
    segments: Segments


def _lines(pins: Sequence[Pin], at: int, way: int) -> set[int]:
    """Where a trunk may run: through a pin, beyond its way out, or half-way between two pins."""
    lines = {pin[at] for pin in pins}
    lines |= {pin[at] + 2 * pin[way] for pin in pins if pin[way]}
    if len(pins) == 2:
        lines.add((pins[0][at] + pins[1][at]) // 2)
    return lines


def _trunk_costs(pins: Sequence[Pin], steep: bool) -> Iterator[tuple[float, int]]:
    """For each line a trunk may run on: length, corners and wrong exits, and the line."""
    a, b, u, v = (0, 1, 2, 3) if steep else (1, 0, 3, 2)
    rows = [(pin[a], pin[b], pin[u], pin[v]) for pin in pins]
    along = [row[1] for row in rows]
    low, high = min(along), max(along)
    across = BRANCHED if steep else ALONG
    for line in _lines(pins, a, u):
        cost = float(high - low)
        branches = [0, 0, 0, 0]  # at the low end from either side, at the high end
        capped_low = capped_high = False  # a pin ends the trunk there
        for x, y, out, other in rows:
            off = line - x
            if off:
                cost += abs(off)
                cost += (WRONG if out * off < 0 else 0.0) if out else across
                if y == low:
                    branches[off > 0] += 1
                if y == high:
                    branches[2 + (off > 0)] += 1
                continue
            capped_low, capped_high = capped_low or y == low, capped_high or y == high
            if low == high:
                continue
            if out:
                at_end = y in (low, high)
                cost += (ALONG if at_end else PASSED) if steep else TIP if at_end else ASIDE
            elif (other < 0 and y < high) or (other > 0 and y > low):
                cost += WRONG
        if low != high:
            cost += BEND * (not capped_low and (branches[0] == 0) != (branches[1] == 0))
            cost += BEND * (not capped_high and (branches[2] == 0) != (branches[3] == 0))
        yield cost, line


def _ragged(pins: Sequence[Pin]) -> float:
    """What it costs that parts hang on one node at different heights, or on the wrong side of its line."""
    tops = {y for _, y, _, uy in pins if uy < 0}
    feet = {y for _, y, _, uy in pins if uy > 0}
    cost = JOG * (max(1, len(tops)) + max(1, len(feet)) - 2)
    line = [y for _, y, ux, _ in pins if ux]
    if line:
        cost += ABOVE * sum(min(line) - y for y in tops if y < min(line))
        cost += ABOVE * sum(y - max(line) for y in feet if y > max(line))
    return cost


def _segments(pins: Sequence[Pin], line: int, steep: bool) -> Segments:
    """The straight pieces: trunk first, then branches; x0, y0, x1, y1 with x0 <= x1, y0 <= y1."""
    if steep:
        trunk = (line, min(p[1] for p in pins), line, max(p[1] for p in pins))
        branches = [(min(p[0], line), p[1], max(p[0], line), p[1]) for p in pins if p[0] != line]
    else:
        trunk = (min(p[0] for p in pins), line, max(p[0] for p in pins), line)
        branches = [(p[0], min(p[1], line), p[0], max(p[1], line)) for p in pins if p[1] != line]
    rows = [*([trunk] if trunk[:2] != trunk[2:] else []), *branches]
    return tuple(dict.fromkeys(rows))


class Plan:
    """The shapes of one set of pins, cheapest first: what each costs, and itself when it is asked for."""

    __slots__ = ("_made", "_pins", "_rows", "_width", "costs")

    def __init__(self, pins: Ends, width: int, keep: int) -> None:
        priced = [(cost, steep, line) for steep in (True, False) for cost, line in _trunk_costs(pins, steep)]
        priced.sort()
        more = _ragged(pins)
        self._rows = priced[: keep + 1]
        self.costs = [cost + more for cost, _, _ in self._rows]
        self._pins, self._width = pins, width
        self._made: list[Shape | None] = [None] * len(self._rows)

    def shape(self, number: int) -> Shape:
        """One of the shapes."""
        made = self._made[number]
        if made is None:
            _, steep, line = self._rows[number]
            made = _shape(self.costs[number], _segments(self._pins, line, steep), self._width)
            self._made[number] = made
        return made


def _shape(cost: float, segments: Segments, width: int) -> Shape:
    left = min([0, *(s[0] for s in segments)])
    up = min([0, *(s[1] for s in segments)])
    flat = steep = joints = 0
    for x0, y0, x1, y1 in segments:
        corner = (y0 - up) * width + x0 - left
        if y0 == y1:
            flat |= ((1 << (x1 - x0 + 1)) - 1) << corner
        else:
            steep |= column(y1 - y0 + 1, width) << corner
        joints |= (1 << corner) | (1 << ((y1 - up) * width + x1 - left))
    return Shape(cost, flat, steep, joints | (flat & steep), left, up, segments)


class Trunks:
    """Shapes of nodes on a board ``width`` bits wide; what was worked out once is remembered."""

    def __init__(self, width: int, keep: int = 3) -> None:
        self.width = width
        self.keep = keep
        self._known: dict[Ends, Plan] = {}

    def plan(self, pins: Ends) -> tuple[Plan, int, int]:
        """The shapes for two pins or more, and where their corner lies."""
        left, up = min([p[0] for p in pins]), min([p[1] for p in pins])
        key = tuple([(x - left, y - up, ux, uy) for x, y, ux, uy in pins])
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = Plan(key, self.width, self.keep)
        return found, left, up


_COLUMNS: dict[tuple[int, int], int] = {}


def column(height: int, width: int) -> int:
    """A vertical run of bits."""
    found = _COLUMNS.get((height, width))
    if found is None:
        found = _COLUMNS[height, width] = sum(1 << (row * width) for row in range(height))
    return found
