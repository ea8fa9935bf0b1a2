"""What the picture has to show, read from the topology: how high, how far right, lying or standing.

No solving of the circuit: a resistive guess of the potentials, the way of the signal through control
pins, and two rules that tell a resistor in a signal path from one in a divider.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import networkx as nx
import numpy as np

from shouldread.drawing.sheet import GROUND, Piece, Sheet

_START = " start"  # where the signal comes from when no input feeds it; no node name holds a blank
_DEFAULT_LEVEL = 3.0


@dataclass(frozen=True, slots=True)
class Sense:
    """``height``: 0 (ground) to 1 (highest supply) of each node. ``level``: how far along the signal.

    ``lying`` and ``standing``: names of pieces that must lie along the signal or stand in a divider.
    """

    height: dict[str, float]
    level: dict[str, float]
    lying: frozenset[str]
    standing: frozenset[str]


def _known_heights(sheet: Sheet) -> dict[str, float]:
    volts = {**sheet.rails, **sheet.wired}
    top = max([abs(v) for v in volts.values()] or [1.0]) or 1.0
    heights = {GROUND: 0.0}
    heights |= {node: v / top or 1.0 for node, v in volts.items()}
    for node in sheet.inputs:
        heights.setdefault(node, 0.5)
    return heights


def _conductances(sheet: Sheet) -> Iterable[tuple[str, str, float]]:
    for piece in sheet.pieces:
        if piece.symbol.form == "two":
            yield (*piece.path, 1.0)
        elif piece.symbol.form == "three":
            high, low = piece.path
            yield high, low, 1.0
            yield str(piece.control), low if piece.symbol.order[0] == "top" else high, 0.3


def potentials(sheet: Sheet) -> dict[str, float]:
    """A guess of each node's height by treating every path as a resistor (nodal analysis)."""
    known = _known_heights(sheet)
    free = [node for node in sheet.pin_counts() if node not in known]
    row = {node: k for k, node in enumerate(free)}
    matrix = np.eye(len(free)) * 1e-3
    right = np.full(len(free), 0.5e-3)
    for a, b, conductance in _conductances(sheet):
        for here, there in ((a, b), (b, a)):
            if here in row:
                matrix[row[here], row[here]] += conductance
                if there in row:
                    matrix[row[here], row[there]] -= conductance
                else:
                    right[row[here]] += conductance * known[there]
    for piece in sheet.pieces:
        for pin in piece.pins:
            if pin.flow == "out" and pin.node in row:
                matrix[row[pin.node], row[pin.node]] += 0.5
                right[row[pin.node]] += 0.35
    solved = np.linalg.solve(matrix, right) if free else right
    return known | {node: float(solved[k]) for node, k in row.items()}


def _influence(sheet: Sheet, lying: Iterable[str]) -> "nx.DiGraph[str]":
    """Which node drives which: through control pins, IC inputs to outputs, lying parts."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(sheet.pin_counts())
    lies = set(lying)
    for piece in sheet.pieces:
        if piece.symbol.form == "three":
            graph.add_edges_from((piece.control, node) for node in piece.path if not sheet.flagged(node))
        elif piece.symbol.form == "box":
            outs = [pin.node for pin in piece.pins if pin.flow == "out" and not sheet.flagged(pin.node)]
            graph.add_edges_from((n, out) for n in piece.nodes for out in outs if n != out)
        elif piece.name in lies:
            graph.add_edge(*piece.path)
    return graph


def _lying(sheet: Sheet) -> list[str]:
    def lies(piece: Piece) -> bool:
        if piece.symbol.form != "two" or GROUND in piece.nodes:
            return False
        first, second = piece.path
        if piece.lies:
            return True
        if piece.symbol.contact:
            return not sheet.flagged(first) and not sheet.flagged(second)
        fed = first in sheet.rails or first in sheet.inputs
        return piece.symbol.one_way and fed and not sheet.flagged(second) and second not in sheet.inputs

    first_pass = {piece.name for piece in sheet.pieces if lies(piece)}
    spans = {frozenset(piece.nodes) for piece in sheet.pieces if piece.name in first_pass}
    beside = [p.name for p in sheet.pieces if p.symbol.form == "two" and frozenset(p.nodes) in spans]
    names = [*first_pass, *beside, *sheet.hints.series]
    return [piece.name for piece in sheet.pieces if piece.name in names]


def _has_way_down(sheet: Sheet, node: str, but: Piece) -> bool:
    """Whether another part ties or drives the node towards ground."""
    for piece in sheet.at(node):
        if piece is but:
            continue
        form = piece.symbol.form
        if form == "two" and piece.symbol.conducts and GROUND in piece.nodes:
            return True
        if form == "three" and piece.control != node and GROUND in piece.path:
            return True
        if form == "box" and any(pin.node == node and pin.flow == "out" for pin in piece.pins):
            return True
    return False


def _hangs_on_rail(sheet: Sheet, node: str, but: Piece) -> bool:
    return any(
        piece is not but and piece.symbol.form == "two" and any(n in sheet.rails for n in piece.nodes)
        for piece in sheet.at(node)
    )


def _standing(sheet: Sheet, heights: dict[str, float], lying: list[str]) -> list[str]:
    graph = _influence(sheet, lying)
    inner = graph.subgraph([node for node in graph if not sheet.flagged(node)])
    standing: list[str] = list(sheet.hints.stack)
    stacked: list[str] = []

    def stands(piece: Piece) -> bool:
        upper, lower = sorted(piece.path, key=lambda node: -heights[node])
        hangs = _hangs_on_rail(sheet, upper, piece) or upper in stacked
        feedback = lower in inner and upper in inner and nx.has_path(inner, lower, upper)
        return (hangs and not _has_way_down(sheet, upper, piece)) or feedback

    candidates = [
        piece
        for piece in sheet.pieces
        if piece.symbol.stacks
        and piece.name not in lying
        and not any(sheet.flagged(node) or node in sheet.inputs for node in piece.nodes)
    ]
    while found := [p for p in candidates if p.name not in standing and stands(p)]:
        standing += [piece.name for piece in found]
        stacked += [min(piece.path, key=lambda node: heights[node]) for piece in found]
    return standing


def _has_level(sheet: Sheet) -> set[str]:
    """Nodes along the signal: all but ground and the supplies that come from outside."""
    return {node for node in sheet.pin_counts() if not sheet.flagged(node) or node in sheet.made}


def _two_pin_edges(sheet: Sheet, piece: Piece, inner: set[str], stands: bool) -> Iterable[tuple[str, str, float]]:
    a, b = piece.path
    if a in inner and b in inner:
        step = 0.3 if stands else 1.0
        yield a, b, step
        if not piece.symbol.one_way or "zener" in piece.symbol.name:
            yield b, a, step
    elif (a in inner) != (b in inner) and GROUND not in (a, b):
        forward = piece.lies or (piece.symbol.one_way and b in inner)
        yield _START, a if a in inner else b, 1.0 if forward else 3.0


def _level_edges(sheet: Sheet, standing: Iterable[str]) -> Iterable[tuple[str, str, float]]:
    stands, inner = set(standing), _has_level(sheet)
    for piece in sheet.pieces:
        if piece.symbol.form == "two":
            yield from _two_pin_edges(sheet, piece, inner, piece.name in stands)
        elif piece.symbol.form == "three":
            for node in piece.path:
                if node in inner and piece.control in inner:
                    yield str(piece.control), node, 2.0
                elif node in inner and any(other in sheet.rails for other in piece.path):
                    yield _START, node, 2.0
        elif piece.symbol.form == "box":
            outs = [pin.node for pin in piece.pins if pin.flow == "out" and pin.node in inner]
            ins = [pin.node for pin in piece.pins if pin.flow == "in" and pin.side != "right"]
            for there in outs:
                for here in ins:
                    if here != there:
                        yield here if here in inner else _START, there, 3.0


def levels(sheet: Sheet, standing: Iterable[str]) -> dict[str, float]:
    """How far along the signal each node is: shortest way from the inputs and supplies.

    A supply that is made on the sheet lies behind what makes it; one with no maker counts as an input.
    """
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_node(_START)
    graph.add_weighted_edges_from((_START, node, 0.0) for node in sheet.inputs)
    for a, b, step in _level_edges(sheet, standing):
        if a != b and (not graph.has_edge(a, b) or graph[a][b]["weight"] > step):
            graph.add_edge(a, b, weight=step)
    reached = nx.descendants(graph, _START)
    graph.add_weighted_edges_from((_START, node, 0.0) for node in sheet.made if node not in reached)
    found = nx.single_source_dijkstra_path_length(graph, _START)
    inner = _has_level(sheet)
    named = [node for node in sheet.pin_counts() if node in inner]
    return {node: float(found.get(node, _DEFAULT_LEVEL)) for node in named} | dict(sheet.hints.level)


def read_sense(sheet: Sheet) -> Sense:
    """Heights, levels and which parts lie or stand."""
    heights = potentials(sheet)
    lying = _lying(sheet)
    standing = _standing(sheet, heights, lying)
    level = levels(sheet, standing)
    return Sense(heights, level, frozenset(lying) - frozenset(standing), frozenset(standing))
