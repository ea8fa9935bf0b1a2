"""The wires of an arrangement: trunk shapes where they are free, ways through the maze for the others."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from shouldread.drawing.arrangement import Arrangement
from shouldread.drawing.maze import CROSS, STEP, TURN, Terrain, find_way
from shouldread.drawing.paths import Segment, corners, links_of, straight_pieces
from shouldread.drawing.trunks import ALONG, ASIDE, column

_ROUNDS = 3
_JOIN = 1  # half grid units: a branch off the middle of a wire
_NO_WAY = 1000.0
BEND_PRICE, CROSS_PRICE = TURN / STEP, CROSS / STEP


@dataclass(frozen=True, slots=True)
class Route:
    """The wire of one node. Masks as in ``trunks.Shape``; ``cost`` in grid units."""

    segments: tuple[Segment, ...]
    flat: int
    steep: int
    joints: int
    cost: float


def route_of(segments: Iterable[Segment], width: int, cost: float) -> Route:
    """A route from its straight pieces."""
    rows = tuple(dict.fromkeys(s for s in segments if s[:2] != s[2:]))
    flat = steep = joints = 0
    for x0, y0, x1, y1 in rows:
        corner = y0 * width + x0
        if y0 == y1:
            flat |= ((1 << (x1 - x0 + 1)) - 1) << corner
        else:
            steep |= column(y1 - y0 + 1, width) << corner
        joints |= 1 << corner | 1 << (y1 * width + x1)
    return Route(rows, flat, steep, joints | (flat & steep), cost)


class Router:
    """Routes every net of an arrangement; ``routes[net]`` is None where there was no way."""

    def __init__(self, arrangement: Arrangement) -> None:
        self.arrangement = arrangement
        self.stage = arrangement.stage
        self.width = arrangement.width
        self.solid, self.pins = arrangement.solids()
        self.routes: list[Route | None] = [None] * len(self.stage.nets)
        self._ends = [arrangement.ends(net) for net in range(len(self.stage.nets))]
        self._own = [arrangement.pin_bits(ends) for ends in self._ends]
        self._near = self._around(self.solid)
        edge = arrangement.width - 2
        row = ((1 << edge) - 1) << 1
        self._board = row * column(arrangement.height - 2, self.width) << self.width

    def _around(self, mask: int) -> int:
        w = self.width
        return (mask << 1 | mask >> 1 | mask << w | mask >> w) & ~mask

    def run(self) -> float:
        """Routes all nets; the cost in grid units, a thousand for each net without a way."""
        wired = [net for net in range(len(self._ends)) if len(self._ends[net]) > 1]
        order = sorted(wired, key=self._span)
        for net in order:
            self.routes[net] = self._free(net, self.arrangement.laid[net].segments)
        for net in order:
            if self.routes[net] is None:
                self.routes[net] = self._through(net)
        best, cost = list(self.routes), self._cost(order)
        for turn in range(_ROUNDS):
            for net in order if turn % 2 else order[::-1]:
                self._improve(net)
            now = self._cost(order)
            if now > cost - 1e-6:
                break
            best, cost = list(self.routes), now
        self.routes = best
        return cost

    def _cost(self, nets: Iterable[int]) -> float:
        return sum(_NO_WAY if (route := self.routes[net]) is None else route.cost for net in nets)

    def _span(self, net: int) -> int:
        xs, ys = [end[0] for end in self._ends[net]], [end[1] for end in self._ends[net]]
        return max(xs) - min(xs) + max(ys) - min(ys)

    def _others(self, net: int) -> tuple[int, int, int]:
        flat = steep = joints = 0
        for other, route in enumerate(self.routes):
            if other != net and route is not None:
                flat, steep, joints = flat | route.flat, steep | route.steep, joints | route.joints
        return flat, steep, joints

    def _free(self, net: int, segments: tuple[Segment, ...]) -> Route | None:
        """The trunk shape, if it strikes nothing and runs along nothing."""
        route = route_of(segments, self.width, 0.0)
        flat, steep, joints = self._others(net)
        cells, others = route.flat | route.steep, flat | steep
        shared = (route.flat & flat) | (route.steep & steep) | (route.joints & others) | (cells & joints)
        if not cells or shared or cells & self.solid or cells & (self.pins ^ self._own[net]):
            return None
        return replace(route, cost=self._measure(net, route))

    def _measure(self, net: int, route: Route) -> float:
        """Length, corners, crossings, and how close it runs beside parts."""
        flat, steep, _ = self._others(net)
        crossed = (route.flat & steep | route.steep & flat).bit_count()
        close = ((route.flat | route.steep) & self._near & ~self._own[net]).bit_count()
        links = links_of(route.segments)
        sideways = 0.0
        for x, y, ux, uy in self._ends[net]:
            if (x + ux, y + uy) not in links.get((x, y), ()):
                sideways += ALONG if ux else ASIDE
        length = sum(len(cells) for cells in links.values()) / 2
        return length + BEND_PRICE * corners(links) + CROSS_PRICE * crossed + 0.3 * close + sideways

    def _improve(self, net: int) -> None:
        old = self.routes[net]
        new = self._through(net)
        if new is not None and (old is None or new.cost < old.cost - 0.2):
            self.routes[net] = new

    def _terrain(self, net: int) -> Terrain:
        flat, steep, joints = self._others(net)
        others = flat | steep
        free = self._board & ~self.solid & ~(self.pins ^ self._own[net])
        beside = (self._near, self._near)
        w = self.width
        along = (flat << w | flat >> w, steep << 1 | steep >> 1)
        plain, dear = [], []
        for layer in (0, 1):
            narrow = (beside[layer] | along[layer]) & ~self._own[net]
            plain.append(free & ~others & ~narrow)
            dear.append(free & ~others & narrow)
        cross = (free & steep & ~flat & ~joints, free & flat & ~steep & ~joints)
        return Terrain(w, (plain[0], plain[1]), (dear[0], dear[1]), cross, free & ~others)

    def _through(self, net: int) -> Route | None:
        """Through the maze: from the pin nearest to the others, each time to the next pin."""
        ends, terrain = self._ends[net], self._terrain(net)
        first = min(range(len(ends)), key=lambda k: sum(abs(ends[k][0] - e[0]) + abs(ends[k][1] - e[1]) for e in ends))
        rows = [self._row(end) for end in ends]
        joined = {first}
        cells: list[Segment] = []
        tree = rows[first]
        route = route_of((), self.width, 0.0)
        while len(joined) < len(ends):
            goals = [row for k, pair in enumerate(rows) if k not in joined for row in pair]
            found = find_way(terrain, tree, goals)
            if found is None:
                return None
            way = [(cell % self.width, cell // self.width) for cell in found]
            cells += straight_pieces(way)
            route = route_of(cells, self.width, 0.0)
            reached = route.flat | route.steep
            joined |= {k for k, (x, y, _, _) in enumerate(ends) if reached >> (y * self.width + x) & 1}
            tree = self._branches(route, [rows[k] for k in sorted(joined)])
        return replace(route, cost=self._measure(net, route))

    def _row(self, end: tuple[int, int, int, int]) -> list[tuple[int, int, int]]:
        """A pin as start or goal: along its way out for nothing, across it for a price."""
        x, y, ux, _ = end
        bit = 1 << (y * self.width + x)
        along, across = (0, 1) if ux else (1, 0)
        price = ALONG if ux else ASIDE
        return [(along, bit, 0), (across, bit, int(price * STEP))]

    def _branches(self, route: Route, pins: list[list[tuple[int, int, int]]]) -> list[tuple[int, int, int]]:
        corners = route.joints
        middle = (route.flat | route.steep) & ~corners
        rows = [(layer, corners, 0) for layer in (0, 1)] + [(layer, middle, _JOIN) for layer in (0, 1)]
        return rows + [row for pair in pins for row in pair]
