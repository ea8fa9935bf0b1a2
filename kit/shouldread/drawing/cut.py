"""Big stages cut into smaller ones at nodes that everything passes through; the node gets a tag on each side.

Up to about sixteen parts one block reads best with wires; beyond, a chain of stages reads better as
blocks with named tags between them (common practice in service manuals, no source).
"""

from collections.abc import Mapping, Sequence

import networkx as nx

from shouldread.drawing.sheet import Piece, Sheet
from shouldread.drawing.supplies import tag

LARGE = 18  # pieces; what is bigger is cut if it can be
_LEAST = 5  # pieces on either side of a cut

Group = tuple[Piece, ...]


def _graph(group: Sequence[Piece], sheet: Sheet) -> "nx.Graph[object]":
    graph: nx.Graph[object] = nx.Graph()
    graph.add_nodes_from(range(len(group)))
    for i, piece in enumerate(group):
        graph.add_edges_from((i, node) for node in piece.nodes if not sheet.flagged(node))
    return graph


def connected(group: Sequence[Piece], sheet: Sheet) -> list[list[int]]:
    """The pieces that wires join, as lists of their numbers."""
    parts = nx.connected_components(_graph(group, sheet))
    return sorted(sorted(i for i in part if isinstance(i, int)) for part in parts)


def _sides(group: Group, sheet: Sheet, node: str) -> list[list[int]]:
    """What a cut through a node leaves on each side, in netlist order."""
    graph = _graph(group, sheet)
    graph.remove_node(node)
    parts = (sorted(i for i in part if isinstance(i, int)) for part in nx.connected_components(graph))
    return sorted(part for part in parts if part)


def _weight(group: Group, side: Sequence[int]) -> int:
    return sum(group[i].symbol.form != "tag" for i in side)


def _best_cut(group: Group, sheet: Sheet) -> tuple[str, list[list[int]]] | None:
    """The node whose cut leaves the largest second side; its sides of some size first, then small ones."""
    graph = _graph(group, sheet)
    cuts = {node for node in nx.articulation_points(graph) if isinstance(node, str)}
    best: tuple[int, str, list[list[int]]] | None = None
    for node in dict.fromkeys(n for piece in group for n in piece.nodes if n in cuts):
        sides = sorted(_sides(group, sheet, node), key=lambda side: (-_weight(group, side), side))
        second = _weight(group, sides[1])
        if second >= _LEAST and (best is None or second > best[0]):
            best = second, node, sides
    return best[1:] if best else None


def cut(group: Group, sheet: Sheet, levels: Mapping[str, float]) -> list[Group]:
    """The group itself, or the smaller groups it is cut into, tags included."""
    found = _best_cut(group, sheet) if _weight(group, range(len(group))) > LARGE else None
    if found is None:
        return [group]
    node, sides = found

    def level(side: Sequence[int]) -> float:
        own = [levels[n] for i in side for n in group[i].nodes if n in levels and n != node]
        return sum(own) / len(own) if own else 0.0

    large = sorted((side for side in sides if _weight(group, side) >= _LEAST), key=lambda s: (level(s), s))
    small = [i for side in sides if side not in large for i in side]
    result: list[Group] = []
    for k, side in enumerate(large):
        members = tuple(group[i] for i in sorted([*side, *(small if k == 0 else [])]))
        if not any(piece.symbol.form == "tag" and node in piece.nodes for piece in members):
            sort = "output tag" if k == 0 else "input tag"
            members = (*members, tag(node, k == 0, name=f"{sort} {node} at {members[0].name}"))
        result += cut(members, sheet, levels)
    return result
