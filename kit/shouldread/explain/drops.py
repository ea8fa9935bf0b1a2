"""Junctions and channels as a person reckons with them: a drop where they conduct, nothing where they do not."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from shouldread.explain.regions import CARRIES, SATURATED
from shouldread.parts import Part
from shouldread.solve import Solution

LEAKS = 1e-9  # A: what less than that does at a node no meter shows


@dataclass(frozen=True, slots=True)
class Drop:
    """Volts from node ``a`` to node ``b`` that a conducting device keeps: a number of the solution."""

    name: str
    a: str
    b: str
    volts: float


@dataclass(frozen=True, slots=True)
class Flow:
    """Amps that a device takes out of a node (``sign`` 1) or brings to it (-1): a number of the solution."""

    name: str
    at: str
    sign: int
    amps: float


def devices_of(own: Iterable[Part], solution: Solution) -> tuple[tuple[Drop, ...], tuple[Flow, ...]]:
    """What diodes and transistors do at a solution, in its order; other sources between two nodes are drops as well."""
    drops, flows = list[Drop](), list[Flow]()
    for part in own:
        if part.kind == "V" and "0" not in part.nodes:
            drops.append(_drop(part, 0, 1, solution))
        elif part.kind == "D":
            _branch(part, 0, 1, solution, drops, flows, holds=True)
        elif part.kind == "Q":
            _branch(part, 1, 2, solution, drops, flows, holds=True)
            saturated = abs(_across(part, 0, 2, solution)) < SATURATED
            _branch(part, 0, 2, solution, drops, flows, holds=saturated)
        elif part.kind == "M":
            _branch(part, 0, 2, solution, drops, flows, holds=abs(_across(part, 0, 2, solution)) < SATURATED)
        elif part.kind not in "RLCIVX":
            flows += _others(part, solution)
    return tuple(drops), tuple(flows)


def tied(known: Iterable[str], drops: Sequence[Drop]) -> Mapping[str, tuple[str, tuple[tuple[int, Drop], ...]]]:
    """Each node of a drop -> (root, the signed drops from the root to it); roots are known nodes as far as there are any."""
    ties: dict[str, tuple[str, tuple[tuple[int, Drop], ...]]] = {at: (at, ()) for at in known}
    starts = [*ties, *(end for drop in drops for end in (drop.a, drop.b))]
    for start in starts:
        if start in ties and ties[start] != (start, ()):
            continue
        ties.setdefault(start, (start, ()))
        queue = [start]
        while queue:
            at = queue.pop(0)
            root, path = ties[at]
            for drop in drops:
                for here, there, sign in ((drop.a, drop.b, -1), (drop.b, drop.a, 1)):
                    if here == at and there not in ties:
                        ties[there] = root, (*path, (sign, drop))
                        queue.append(there)
    return ties


def _across(part: Part, i: int, j: int, solution: Solution) -> float:
    return solution.volts[part.nodes[i]] - solution.volts[part.nodes[j]]


def _drop(part: Part, i: int, j: int, solution: Solution) -> Drop:
    pins = "" if part.kind in "DV" else f"_{part.pins[i]}{part.pins[j]}"
    name = part.name if part.kind == "V" else f"U_{part.name}{pins}"
    return Drop(name, part.nodes[i], part.nodes[j], _across(part, i, j, solution))


def _branch(
    part: Part, i: int, j: int, solution: Solution, drops: list[Drop], flows: list[Flow], *, holds: bool
) -> None:
    """The path between two pins: a drop where it carries current and holds volts, else its amps as a number."""
    amps = solution.pin_amps[f"{part.name}.{part.pins[i]}"]
    if part.nodes[i] == part.nodes[j]:
        return
    if holds and abs(amps) > CARRIES:
        drops.append(_drop(part, i, j, solution))
    elif abs(amps) > LEAKS:
        name = f"I_{part.name}" + ("" if part.kind == "D" else f"_{part.pins[i]}")
        flows += [Flow(name, part.nodes[i], 1, amps), Flow(name, part.nodes[j], -1, amps)]


def _others(part: Part, solution: Solution) -> Iterable[Flow]:
    """A controlled source or a switch: what each pin takes."""
    for pin, node in zip(part.pins, part.nodes, strict=True):
        amps = solution.pin_amps.get(f"{part.name}.{pin}", 0.0)
        if abs(amps) > LEAKS:
            yield Flow(f"I_{part.name}_{pin}", node, 1, amps)
