"""Feed path: what the small series parts between two nodes may lose, and what a loss says of a joint."""

import itertools
import math
from dataclasses import dataclass

import networkx

from shouldread.circuit import Circuit
from shouldread.parts import Part, number_of, spreads_of
from shouldread.quantities import Spread, say

SMALL = 1.0  # Ω: more than this is no link of a feed


@dataclass(frozen=True, slots=True)
class Path:
    """The series parts and nodes from one node to another, and their ohms together (lowest, nominal, highest)."""

    parts: tuple[str, ...]
    nodes: tuple[str, ...]
    low: float
    nominal: float
    high: float


@dataclass(frozen=True, slots=True)
class Joint:
    """What a loss along a path says: ``ohms`` beyond the parts' own lie between ``low`` and ``high``; V, A, W."""

    lost: float
    amps: float
    ohms: float
    low: float
    high: float
    watts: float

    def __str__(self) -> str:
        return (
            f"{say(self.lost, 'V', 3)} lost at {say(self.amps, 'A', 3)}: {say(self.ohms, 'Ω', 2)} more than the parts"
        )


def link_ohms(part: Part) -> Spread | None:
    """Ohms of a small series part with their spread (coil: its winding, 0 if none is stated); None for all others."""
    told = {"L": number_of(part, "dcr"), "R": part.value}.get(part.kind)
    if part.kind == "L" and told is None:
        return Spread.exact(0.0)
    if told is None or told.nominal > SMALL:
        return None
    return dict(spreads_of(part)).get("dcr" if part.kind == "L" else "value", told)


def feed_path(circuit: Circuit, start: str, end: str) -> Path | None:
    """The path of least ohms between two nodes over small series parts; None where there is none.

    >>> from shouldread.circuit import load_circuit
    >>> feed_path(load_circuit("two_feed_enable"), "12V_AUX", "FEED").parts
    ('RJ1', 'RS1', 'L1')
    """
    graph = _links(circuit)
    if start not in graph or end not in graph or not networkx.has_path(graph, start, end):
        return None
    nodes = networkx.shortest_path(graph, start, end, weight="weight")
    names = [graph.edges[a, b]["part"] for a, b in itertools.pairwise(nodes)]
    spreads = [s for name in names if (s := link_ohms(circuit.part(name))) is not None]
    return Path(
        tuple(names), tuple(nodes), *(math.fsum(getattr(s, k) for s in spreads) for k in ("low", "nominal", "high"))
    )


def behind(circuit: Circuit, feed: str) -> dict[str, Path]:
    """Every node that small series parts join to a feed's node, with its path."""
    graph = _links(circuit)
    if feed not in graph:
        return {}
    reached = networkx.node_connected_component(graph, feed) - {feed, "0"}
    found = {node: feed_path(circuit, feed, node) for node in circuit.nodes if node in reached}
    return {node: path for node, path in found.items() if path is not None}


def joint(path: Path, lost: float, amps: float, error: float) -> Joint:
    """What the volts ``lost`` (± ``error``) at ``amps`` say beyond the path's own parts. Ohm's and Joule's laws."""
    ohms = lost / amps - path.nominal
    low, high = (lost - error) / amps - path.high, (lost + error) / amps - path.low
    return Joint(lost, amps, ohms, low, high, max(0.0, ohms) * amps**2)


def _links(circuit: Circuit) -> networkx.Graph:
    graph = networkx.Graph()
    for part in circuit.netlist.values():
        ohms = link_ohms(part)
        if ohms is None or "0" in part.nodes or part.nodes[0] == part.nodes[1]:
            continue
        a, b = part.nodes
        if not graph.has_edge(a, b) or graph.edges[a, b]["weight"] > ohms.nominal:
            graph.add_edge(a, b, part=part.name, weight=ohms.nominal)
    return graph
