"""What a search may try: for a piece or a group, a handful of places to choose from.

Single parts leave jogs that only groups can remove, so whatever hangs together moves together too.
"""

from collections.abc import Callable
from itertools import combinations
from random import Random

import networkx as nx

from shouldread.drawing.arrangement import Arrangement, Change, Spot
from shouldread.drawing.stage import Stage

Choice = tuple[tuple[int, ...], list[list[Change]]]  # the pieces that move, and the places offered
_CLOSE = ((2, 0), (-2, 0), (0, 2), (0, -2), (4, 0), (-4, 0), (0, 4), (0, -4))
_GAPS = (2, 4, 4, 6, 6, 8, 10, 12)
_OFFERS = 14  # places tried at a time


def groups_of(stage: Stage) -> list[tuple[int, ...]]:
    """Pieces that may move together: those on a node, pairs, and what a cut through a node leaves."""
    graph: nx.Graph[object] = nx.Graph()
    graph.add_nodes_from(range(stage.size))
    for net in stage.nets:
        graph.add_edges_from((i, net.node) for i, _ in net.pins)
    groups: list[tuple[int, ...]] = []
    for net in stage.nets:
        members = tuple(sorted({i for i, _ in net.pins}))
        groups += [members, *combinations(members, 2)]
        rest = graph.copy()
        rest.remove_node(net.node)
        groups += sorted(
            tuple(sorted(i for i in part if isinstance(i, int))) for part in nx.connected_components(rest)
        )
    return [group for group in dict.fromkeys(groups) if 1 < len(group) < stage.size]


class Moves:
    """Draws one choice after another for an arrangement."""

    def __init__(self, arrangement: Arrangement, random: Random) -> None:
        self.arrangement = arrangement
        self.stage = arrangement.stage
        self.random = random
        self.groups = groups_of(self.stage)
        self._kinds: list[Callable[[], Choice]] = [self._single] * 5 + [self._gap] * 2 + [self._swap]
        if self.groups:
            self._kinds += [self._group] * 4

    def draw(self) -> Choice:
        """The next choice."""
        return self.random.choice(self._kinds)()

    def _spot(self, piece: int) -> Spot:
        return self.arrangement.at(piece).spot

    def _single(self) -> Choice:
        """One piece: a step aside, another pose, or in line with a neighbour."""
        piece = self.random.randrange(self.stage.size)
        old = self._spot(piece)
        poses = self.stage.poses[piece]
        spots: dict[Spot, None] = {}
        for dx, dy in self.random.sample(_CLOSE, 3):
            spots[old[0], old[1] + dx, old[2] + dy] = None
        for _ in range(3):
            spots[self._turned(piece, old, self.random.randrange(len(poses)))] = None
        for _ in range(_OFFERS - 6):
            pose = old[0] if self.random.random() < 0.5 else self.random.randrange(len(poses))
            found = self._lined_up((piece,), {piece: (pose, old[1], old[2])})
            if found:
                spots[pose, old[1] + found[0], old[2] + found[1]] = None
        spots.pop(old, None)
        return (piece,), [[(piece, spot)] for spot in spots]

    def _turned(self, piece: int, old: Spot, pose: int) -> Spot:
        """Another pose, one pin kept where it is."""
        poses = self.stage.poses[piece]
        pin = self.random.randrange(len(poses[pose].pins))
        a, b = poses[old[0]].pins[pin], poses[pose].pins[pin]
        return pose, old[1] + a[0] - b[0], old[2] + a[1] - b[1]

    def _lined_up(self, members: tuple[int, ...], at: dict[int, Spot]) -> tuple[int, int] | None:
        """A shift of the members that brings one of their pins into line with a pin of the same node."""
        random, stage = self.random, self.stage
        piece = random.choice(members)
        if not stage.nets_of[piece]:
            return None
        pins = stage.nets[random.choice(stage.nets_of[piece])].pins
        inside = [(i, k) for i, k in pins if i in members]
        outside = [(i, k) for i, k in pins if i not in members]
        if not inside or not outside:
            return None
        (i, k), (j, m) = random.choice(inside), random.choice(outside)
        pose, x, y = at[i]
        px, py, _, _ = stage.poses[i][pose].pins[k]
        tx, ty, ux, uy = self.arrangement.at(j).ends[m]
        dx, dy = tx - x - px, ty - y - py
        step, roll = random.choice(_GAPS), random.random()
        if roll < 0.5:
            return dx + ux * step, dy + uy * step
        if roll < 0.7:
            return dx + (step if random.random() < 0.5 else -step), dy
        if roll < 0.9:
            return dx, dy + (step if random.random() < 0.5 else -step)
        return (dx, 0) if random.random() < 0.5 else (0, dy)

    def _group(self) -> Choice:
        """Several pieces together: a step aside, or in line with what they hang on."""
        members = self.random.choice(self.groups)
        at = {piece: self._spot(piece) for piece in members}
        shifts: dict[tuple[int, int], None] = dict.fromkeys(self.random.sample(_CLOSE, 4))
        for _ in range(_OFFERS - 4):
            found = self._lined_up(members, at)
            if found:
                shifts[found] = None
        shifts.pop((0, 0), None)
        return members, [self._shifted(at, dx, dy) for dx, dy in shifts]

    def _shifted(self, at: dict[int, Spot], dx: int, dy: int) -> list[Change]:
        return [(piece, (pose, x + dx, y + dy)) for piece, (pose, x, y) in at.items()]

    def _gap(self) -> Choice:
        """Everything beyond a line: opens or closes a row or a column."""
        axis = self.random.choice((1, 2))
        line = self._spot(self.random.randrange(self.stage.size))[axis]
        beyond = tuple(i for i in range(self.stage.size) if self._spot(i)[axis] >= line)
        if len(beyond) == self.stage.size:
            return (), []
        at = {piece: self._spot(piece) for piece in beyond}
        steps = (2, -2, -4, -6)
        return beyond, [self._shifted(at, *((step, 0) if axis == 1 else (0, step))) for step in steps]

    def _swap(self) -> Choice:
        """Two pieces change places."""
        if self.stage.size < 2:
            return (), []
        a, b = sorted(self.random.sample(range(self.stage.size), 2))
        (pa, xa, ya), (pb, xb, yb) = self._spot(a), self._spot(b)
        return (a, b), [[(a, (pa, xb, yb)), (b, (pb, xa, ya))]]
