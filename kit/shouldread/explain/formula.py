"""The closed form of a node's volts: exact for linear paths, with junction drops as numbers otherwise."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import sympy

from shouldread.circuit import Circuit, Flat, State, flatten, state_edits
from shouldread.parts import Part
from shouldread.quantities import Spread
from shouldread.solve import Solution

MOST_NODES = 7  # unknown nodes of a closed form that a person can still read


@dataclass(frozen=True, slots=True)
class Formula:
    """An equation for one node: sympy expression, the numbers of its symbols, whether it is exact."""

    expression: sympy.Expr
    numbers: dict[sympy.Symbol, float]
    exact: bool

    @property
    def value(self) -> float:
        """The expression with the numbers put in (V)."""
        return float(self.expression.subs(self.numbers))


class _Table:
    """The symbols of one formula: unknown nodes, parts and held volts by name, each with its number."""

    def __init__(self, unknown: Sequence[str], held: Mapping[str, str], solution: Solution) -> None:
        names = sympy.symbols([f"n{k}" for k in range(len(unknown))])
        self.place: dict[str, sympy.Symbol] = dict(zip(unknown, names, strict=True))
        self.numbers: dict[sympy.Symbol, float] = {}
        self._symbols: dict[str, sympy.Symbol] = {}
        self._held = held
        self._solution = solution

    def symbol(self, name: str, value: float) -> sympy.Symbol:
        made = self._symbols.setdefault(name, sympy.Symbol(name.replace(" ", "_")))
        self.numbers[made] = value
        return made

    def volts(self, at: str) -> sympy.Expr:
        if at == "0":
            return sympy.Integer(0)
        if at in self.place:
            return self.place[at]
        return self.symbol(self._held.get(at, f"V_{at}"), self._solution.volts.get(at, 0.0))

    def leaving(self, part: Part, at: str) -> sympy.Expr:
        """The current that a resistor, coil or current source takes out of a node."""
        a, b = part.nodes
        if part.kind == "I":
            assert part.value is not None
            amps = self.symbol(part.name, part.value.nominal)
            return amps if a == at else -amps
        if a == b:
            return sympy.Integer(0)
        return (self.volts(at) - self.volts(b if a == at else a)) / self.symbol(part.name, _ohms(part))

    def number_into(self, flat: Flat, part: Part, at: str) -> sympy.Expr:
        """The current of any other part, as the solution has it."""
        pin, amps = _into(flat, part, at, self._solution)
        return self.symbol(f"I_{pin}", amps) if abs(amps) > 1e-15 else sympy.Integer(0)


def formula_of(circuit: Circuit, node: str, state: State, solution: Solution) -> Formula | None:
    """The node's formula over the linear parts around it; None where the surroundings are too large to read.

    Nodes that a source holds are known (their formula is the source); other nodes are unknown as far as resistors
    reach. Whatever else meets an unknown node (a junction, a channel, an IC pin) enters as its current in ``solution``, a number.
    """
    flat = flatten(circuit, (*state_edits(circuit, state),))
    own = [part for part in flat.parts if part.name in circuit.netlist]
    held = _held(flat)
    if node in held:
        symbol = sympy.Symbol(held[node])
        return Formula(symbol, {symbol: solution.volts[node]}, True)
    unknown = _reach(own, node, held)
    if not unknown or len(unknown) > MOST_NODES:
        return None
    table = _Table(unknown, held, solution)
    exact, equations = not flat.bridges, []
    for at in unknown:
        total = sympy.Integer(0)
        for part in own:
            if at not in part.nodes or part.kind == "C":
                continue
            linear = part.kind in "RLI"
            total += table.leaving(part, at) if linear else table.number_into(flat, part, at)
            exact = exact and linear
        for amps in _blocks_take(circuit, solution, at):
            exact = False
            total += table.symbol(*amps)
        equations.append(total)
    place = table.place
    found = sympy.solve(equations, list(place.values()), dict=True)
    if not found or place[node] not in found[0]:
        return None
    return Formula(sympy.factor(sympy.together(found[0][place[node]])), table.numbers, exact)


def _blocks_take(circuit: Circuit, solution: Solution, at: str) -> Iterator[tuple[str, float]]:
    """The amps that pins of chips take from a node, each as a whole: (symbol, number)."""
    for part in circuit.netlist.values():
        if part.block is not None:
            for pin, node in zip(part.pins, part.nodes, strict=True):
                amps = solution.pin_amps[f"{part.name}.{pin}"]
                if node == at and abs(amps) > 1e-15:
                    yield f"I_{part.name}_{pin}", amps


def _ohms(part: Part) -> float:
    """Ohms of a resistor or of a coil's winding (an ideal coil is a link of a nano-ohm here)."""
    if part.kind == "R" and part.value is not None:
        return part.value.nominal
    dcr = part.facts.get("dcr")
    return max(dcr.nominal, 1e-9) if isinstance(dcr, Spread) else 1e-9


def _held(flat: Flat) -> dict[str, str]:
    """Nodes that a source to ground holds -> the source's name."""
    return {n: p.name for p in flat.parts if p.kind == "V" and "0" in p.nodes for n in p.nodes if n != "0"}


def _reach(own: Sequence[Part], node: str, held: dict[str, str]) -> list[str]:
    """The node and all that resistors join to it, as far as held nodes."""
    if node in held or node == "0":
        return []
    found, queue = [node], [node]
    while queue:
        at = queue.pop(0)
        for part in own:
            if part.kind in "RL" and at in part.nodes:
                for other in part.nodes:
                    if other not in found and other not in held and other != "0":
                        found.append(other)
                        queue.append(other)
    return found


def _into(flat: Flat, part: Part, at: str, solution: Solution) -> tuple[str, float]:
    """A pin's name and the amps into it, as the solution has them."""
    for number, node in enumerate(part.nodes):
        if node == at:
            pin = flat.terminals.get((part.name, number), "")
            if pin in solution.pin_amps:
                return pin.replace(".", "_"), solution.pin_amps[pin]
    return part.name, 0.0
