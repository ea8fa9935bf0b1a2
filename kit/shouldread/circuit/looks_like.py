"""Which circuit of the shelf a traced stage looks like: the same sorts of parts on the same points, with what differs."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache

from shouldread.circuit.circuit import Circuit
from shouldread.circuit.feeds import is_supply
from shouldread.circuit.library import load_circuit, shelf
from shouldread.circuit.trace_netlist import SERIES
from shouldread.parts import KINDS, Part
from shouldread.quantities import say

LEAST_PARTS = 3  # parts that must agree before a likeness is worth a word
LEAST_SHARE = 0.5  # of the shelf's circuit
FAR = 2.2  # factor between two values that is told as a difference
MOST = 3
NEAR = 0.75  # of the parts of the best, below which another is no longer worth a word
_MARKED = 10.0  # worth of a part that does something, against a resistor's 1: few circuits share it


@dataclass(frozen=True, slots=True)
class Likeness:
    """A circuit of the shelf that a stage looks like. ``parts`` and ``nodes``: the stage's name -> the shelf's.

    ``share``: of the shelf's circuit that was found. ``differences``: what only one of them has, and values far apart.
    """

    name: str
    title: str
    share: float
    parts: Mapping[str, str]
    nodes: Mapping[str, str]
    differences: tuple[str, ...]

    def __str__(self) -> str:
        return f"looks like {self.name}: {self.title} ({len(self.parts)} parts agree)" + "".join(
            f"\n  {row}" for row in self.differences
        )


@dataclass(slots=True)
class _Match:
    parts: dict[str, str] = field(default_factory=dict)
    nodes: dict[str, str] = field(default_factory=lambda: {"0": "0"})
    taken: set[str] = field(default_factory=lambda: {"0"})  # nodes of the shelf's circuit


def looks_like(circuit: Circuit, most: int = MOST) -> tuple[Likeness, ...]:
    """The circuits of the shelf that this one looks like, the best first.

    >>> print(looks_like(load_circuit("npn_inverter_enable"))[0].name)
    npn_inverter_enable
    """
    own = _comparable(circuit)
    found = [like for name in _names() if (like := _likeness(circuit, own, name)) is not None]
    found.sort(key=lambda like: (-len(like.parts), -like.share, len(like.differences), like.name))
    near = [like for like in found if len(like.parts) >= NEAR * len(found[0].parts)]
    return tuple(near[:most])


@cache
def _names() -> tuple[str, ...]:
    return tuple(entry.name for entry in shelf() if entry.sort == "fragment")


@cache
def _shelved(name: str) -> tuple[Circuit, tuple[Part, ...]]:
    circuit = load_circuit(name)
    return circuit, _comparable(circuit)


def _comparable(circuit: Circuit) -> tuple[Part, ...]:
    """The parts that tell one circuit from another: what only feeds it and what only stands for a load does not."""
    return tuple(part for part in circuit.netlist.values() if _sort(part))


def _sort(part: Part) -> str:
    """What must agree: kind, polarity, and whether a diode is a zener or a light; "" for what does not count."""
    detail = str(part.facts.get("detail", ""))
    if part.kind == "I" or is_supply(part) or detail in ("load", "pin"):
        return ""
    if part.block is not None:
        return f"X {part.block.name}"
    if part.kind == "D":
        return "D zener" if detail in ("zener", "tvs") else f"D {detail if detail == 'led' else ''}"
    if part.kind == "R":
        return f"R {'series' if detail in SERIES else 'inside' if detail == 'inside' else ''}"
    prebiased = detail if detail == "prebiased" else ""
    return f"{part.kind} {part.model.type if part.model is not None else ''} {prebiased}"


def _worth(part: Part) -> float:
    return _MARKED if part.kind in "QMXDS" else 1.0


def _likeness(circuit: Circuit, own: tuple[Part, ...], name: str) -> Likeness | None:
    theirs, parts = _shelved(name)
    best, most = _Match(), 0.0
    for seed in _seeds(own, parts):
        match = _grown(seed, own, parts)
        worth = sum(_worth(part) for part in own if part.name in match.parts)
        if worth > most:
            best, most = match, worth
    share = len(best.parts) / max(1, len(parts))
    if len(best.parts) < LEAST_PARTS or share < LEAST_SHARE or most < _MARKED:
        return None
    differences = tuple(_differences(circuit, theirs, best, own, parts))
    return Likeness(name, theirs.title, share, best.parts, best.nodes, differences)


def _seeds(own: tuple[Part, ...], parts: tuple[Part, ...]) -> Iterator[_Match]:
    """Where to begin: every pair of parts that do something and are of one sort."""
    for part in own:
        for other in parts:
            if _worth(part) > 1 and _sort(part) == _sort(other):
                match = _Match()
                if _fits(part, other.nodes, match) is not None:
                    _put(match, part, other, other.nodes)
                    yield match


def _ways(other: Part) -> tuple[tuple[str, ...], ...]:
    """The ways in which a part can be put: what has two equal ends can be turned."""
    if KINDS[other.kind].pins == ("1", "2") and other.kind in "RCL":
        return other.nodes, other.nodes[::-1]
    return (other.nodes,)


def _fits(part: Part, nodes: tuple[str, ...], match: _Match) -> int | None:
    """How many ends of a part are on points matched already, None where it contradicts them."""
    known, fresh = 0, dict[str, str]()
    for mine, theirs in zip(part.nodes, nodes, strict=True):
        told = match.nodes.get(mine, fresh.get(mine))
        if told is None:
            if theirs in match.taken or theirs in fresh.values():
                return None
            fresh[mine] = theirs
        elif told != theirs:
            return None
        elif mine in match.nodes:
            known += mine != "0"
    return known


def _put(match: _Match, part: Part, other: Part, nodes: tuple[str, ...]) -> None:
    match.parts[part.name] = other.name
    for mine, theirs in zip(part.nodes, nodes, strict=True):
        match.nodes[mine] = theirs
        match.taken.add(theirs)


def _grown(match: _Match, own: tuple[Part, ...], parts: tuple[Part, ...]) -> _Match:
    """Add part after part, always the one that hangs on most points matched already, then the nearest in value."""
    while True:
        used = set(match.parts.values())
        best: tuple[float, float, float] | None = None
        step: tuple[Part, Part, tuple[str, ...]] | None = None
        for part in own:
            if part.name in match.parts:
                continue
            for other in parts:
                if other.name in used or _sort(part) != _sort(other) or len(part.nodes) != len(other.nodes):
                    continue
                for nodes in _ways(other):
                    known = _fits(part, nodes, match)
                    rank = (-float(known or 0), -_worth(part), _distance(part, other))
                    if known and (best is None or rank < best):
                        best, step = rank, (part, other, nodes)
        if step is None:
            return match
        _put(match, *step)


def _distance(part: Part, other: Part) -> float:
    """How far apart two values are, in decades; one that nobody read is near to all."""
    if (
        part.value is None
        or other.value is None
        or part.value.wide
        or min(part.value.nominal, other.value.nominal) <= 0
    ):
        return 0.0
    return abs(math.log10(part.value.nominal / other.value.nominal))


def _differences(
    mine: Circuit, theirs: Circuit, match: _Match, own: tuple[Part, ...], parts: tuple[Part, ...]
) -> Iterator[str]:
    back = {their: node for node, their in match.nodes.items()}
    used = set(match.parts.values())
    for part in parts:
        if part.name not in used:
            places = " and ".join(_place(back.get(node, "")) or f"its {node}" for node in dict.fromkeys(part.nodes))
            yield f"on the shelf there is also {_called(part)} between {places}"
    for part in own:
        if part.name not in match.parts:
            yield f"{part.name} ({_called(part)}) is not on the shelf"
            continue
        other = theirs.netlist[match.parts[part.name]]
        if _distance(part, other) > math.log10(FAR) and part.value is not None and other.value is not None:
            unit = KINDS[part.kind].unit
            yield f"{part.name} is {say(part.value.nominal, unit)}, {say(other.value.nominal, unit)} on the shelf"
    assert mine.netlist.keys() >= match.parts.keys()


def _place(node: str) -> str:
    return "ground" if node == "0" else node


def _called(part: Part) -> str:
    """``10 kΩ``, ``an NPN``, ``a diode``: what it is, without its name on the shelf."""
    kind = KINDS[part.kind]
    if part.block is not None:
        return f"an IC of the sort {part.block.name}"
    polarity = f"{part.model.type} " if part.model is not None and part.kind in "QM" else ""
    named = f"{polarity}{kind.name}"
    value = f" of {say(part.value.nominal, kind.unit)}" if part.value is not None and kind.unit else ""
    return f"{'an' if named[0] in 'aeioNi' else 'a'} {named}{value}"
