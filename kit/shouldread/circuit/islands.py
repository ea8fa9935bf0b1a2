"""Islands: nodes that no direct current can leave towards ground."""

from collections.abc import Hashable, Iterable, Iterator
from typing import TypeVar

from shouldread.circuit.flat import Flat

Node = TypeVar("Node", bound=Hashable)

HOLD = 1e12  # ohm from one node of an island to ground: nothing flows through it, but a matrix can be solved


def islands(flat: Flat) -> tuple[str, ...]:
    """One node of every island, in the order of the circuit's nodes.

    Resistors, coils, sources, switches, junctions and channels lead current; capacitors, current sources, gates
    and control pins do not. A bipolar transistor's substrate leads to ground (its gmin does, in every SPICE).
    """
    return tuple(first_of_islands(flat.nodes, _links(flat), "0"))


def first_of_islands(nodes: Iterable[Node], links: Iterable[tuple[Node, Node]], ground: Node) -> list[Node]:
    """The first node of every island that no chain of links joins to ground, in the order of the nodes."""
    order = list(nodes)
    root = {node: node for node in order}

    def find(node: Node) -> Node:
        while root[node] != node:
            root[node] = root[root[node]]
            node = root[node]
        return node

    for a, b in links:
        root[find(a)] = find(b)
    found = []
    for node in order:
        if find(node) != find(ground):
            found.append(node)
            root[find(node)] = find(ground)
    return found


def _links(flat: Flat) -> Iterator[tuple[str, str]]:
    for part in flat.parts:
        n = part.nodes
        if part.kind in "RLVEDS":
            yield n[0], n[1]
        elif part.kind == "Q":
            yield from ((n[0], n[1]), (n[1], n[2]), (n[0], "0"))
        elif part.kind == "M":
            yield from ((n[0], n[2]), (n[3], n[0]))
    yield from ((b.a, b.b) for b in flat.bridges)
    yield from ((j.a, j.b) for j in flat.junctions)
    yield from ((d.a, d.b) for d in flat.drives)
