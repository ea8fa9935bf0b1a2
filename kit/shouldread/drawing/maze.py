"""Shortest way of a wire between parts and other wires, found by flooding all cells at once.

Lee's wave (IRE Trans. Electronic Computers EC-10 (1961) 346) on bit masks: one front per cost, each
step a shift of the whole board. Two layers, one for cells passed sideways (flat), one for cells passed
up or down (steep); a corner is a change of layer.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

STEP, DEAR, TURN, CROSS = 2, 1, 8, 24  # half grid units: a step, beside something, a corner, over a wire
LIMIT = 2400  # cost at which a way counts as not there


@dataclass(frozen=True, slots=True)
class Terrain:
    """What each cell allows to one wire: ``plain``, ``dear`` and ``cross`` per layer, and where it may turn."""

    width: int
    plain: tuple[int, int]
    dear: tuple[int, int]
    cross: tuple[int, int]
    turn: int


@dataclass(slots=True)
class _Flood:
    terrain: Terrain
    waiting: list[dict[int, int]]  # per layer: cost to cells not yet settled
    settled: list[dict[int, int]]
    seen: list[int]

    def add(self, layer: int, cost: int, cells: int) -> None:
        if cells:
            front = self.waiting[layer]
            front[cost] = front.get(cost, 0) | cells

    def settle(self, layer: int, cost: int) -> int:
        cells = self.waiting[layer].pop(cost, 0) & ~self.seen[layer]
        if cells:
            self.seen[layer] |= cells
            self.settled[layer][cost] = cells
        return cells

    def spread(self, layer: int, cost: int, cells: int) -> None:
        terrain = self.terrain
        by = terrain.width if layer else 1
        around = ((cells << by) | (cells >> by)) & ~self.seen[layer]
        self.add(layer, cost + STEP, around & terrain.plain[layer])
        self.add(layer, cost + STEP + DEAR, around & terrain.dear[layer])
        self.add(layer, cost + STEP + CROSS, around & terrain.cross[layer])
        self.add(1 - layer, cost + TURN, cells & terrain.turn & ~self.seen[1 - layer])

    def back(self, layer: int, cost: int, cell: int) -> Iterator[int]:
        """The cells of the way, from its end to its start."""
        terrain = self.terrain
        while True:
            bit = 1 << cell
            yield cell
            by = terrain.width if layer else 1
            step = STEP if terrain.plain[layer] & bit else STEP + (DEAR if terrain.dear[layer] & bit else CROSS)
            before = self.settled[layer].get(cost - step, 0)
            if before >> (cell - by) & 1:
                cell, cost = cell - by, cost - step
            elif before >> (cell + by) & 1:
                cell, cost = cell + by, cost - step
            elif self.settled[1 - layer].get(cost - TURN, 0) & bit and terrain.turn & bit:
                layer, cost = 1 - layer, cost - TURN
            else:
                return


def find_way(
    terrain: Terrain, starts: Sequence[tuple[int, int, int]], goals: Sequence[tuple[int, int, int]]
) -> list[int] | None:
    """The cheapest way from any start to any goal: its cells, goal first; None if there is none.

    Starts and goals are (layer, mask, extra cost) rows.
    """
    flood = _Flood(terrain, [{}, {}], [{}, {}], [0, 0])
    for layer, mask, extra in starts:
        flood.add(layer, extra, mask)
    best: tuple[int, int, int, int] | None = None  # cost with the goal's extra, layer, cost, cell
    cost = 0
    while cost < LIMIT and (flood.waiting[0] or flood.waiting[1]):
        if best and best[0] <= cost:
            break
        for layer in (0, 1):
            cells = flood.settle(layer, cost)
            if not cells:
                continue
            for goal_layer, mask, extra in goals:
                if goal_layer == layer and cells & mask and (best is None or cost + extra < best[0]):
                    hit = cells & mask
                    best = (cost + extra, layer, cost, (hit & -hit).bit_length() - 1)
            flood.spread(layer, cost, cells)
        cost += 1
    if best is None:
        return None
    return _tidy(flood.back(*best[1:]))


def _tidy(cells: Iterator[int]) -> list[int]:
    """The way without repeated cells (a corner is met once on each layer)."""
    way: list[int] = []
    for cell in cells:
        if not way or way[-1] != cell:
            way.append(cell)
    return way
