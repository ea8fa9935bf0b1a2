"""The closed form of a node's volts: exact for linear paths; through junctions region by region, drops as numbers."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import sympy

from shouldread.circuit import Circuit, Flat, State, flatten, is_supply, state_edits
from shouldread.explain.drops import Drop, Flow, devices_of, tied
from shouldread.parts import Part
from shouldread.quantities import Spread
from shouldread.solve import Solution

MOST_NODES = 7  # unknown nodes of a closed form that a person can still read, where all of it is linear
FEW_NODES, FEW_NAMES = 3, 8  # the same where it holds at this point only: beyond it the neighbours' volts are numbers


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

    def __init__(
        self, held: Mapping[str, str], drops: Sequence[Drop], solution: Solution, only: str | None = None
    ) -> None:
        """``only``: the one root that is sought; the volts of all others are numbers of the solution."""
        self.numbers: dict[sympy.Symbol, float] = {}
        self._symbols: dict[str, sympy.Symbol] = {}
        self._held = held
        self._solution = solution
        self._ties = tied(["0", *held], drops)
        self._roots: dict[str, sympy.Symbol] = {}
        self._only = only

    def known(self, at: str) -> bool:
        """Whether ground or a source holds a node, straight or over drops."""
        return self.root(at) == "0" or self.root(at) in self._held

    def root(self, at: str) -> str:
        """The node by which another is known over drops, itself where there are none."""
        return self._ties[at][0] if at in self._ties else at

    def unknown(self, root: str) -> sympy.Symbol:
        """The symbol of a node's volts that is sought."""
        return self._roots.setdefault(root, sympy.Symbol(f"n{len(self._roots)}"))

    def volts(self, at: str) -> sympy.Expr:
        """Volts of a node: of its root and the drops between them."""
        root = self.root(at)
        if root == "0":
            total = sympy.Integer(0)
        elif root in self._held:
            total = self.symbol(self._held[root], self._solution.volts.get(root, 0.0))
        elif self._only not in (None, root):
            return self.symbol(f"V_{at}", self._solution.volts.get(at, 0.0))
        else:
            total = self.unknown(root)
        for sign, drop in self._ties[at][1] if at in self._ties else ():
            total += sign * self.symbol(drop.name, drop.volts)
        return total

    def symbol(self, name: str, value: float) -> sympy.Symbol:
        made = self._symbols.setdefault(name, sympy.Symbol(name.replace(" ", "_")))
        self.numbers[made] = value
        return made

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


@dataclass(frozen=True, slots=True)
class _Around:
    """The parts of a circuit as they count here: linear ones, and what flows into all others."""

    circuit: Circuit
    own: Sequence[Part]
    flows: Sequence[Flow]
    solution: Solution

    def taken(self, table: _Table, at: str) -> sympy.Expr:
        """What leaves a node over its linear parts, its devices and the pins of chips."""
        total = sympy.Integer(0)
        for part in self.own:
            if at in part.nodes and part.kind in "RLI":
                total += table.leaving(part, at)
        for flow in (flow for flow in self.flows if flow.at == at):
            total += flow.sign * table.symbol(flow.name, flow.amps)
        for amps in _blocks_take(self.circuit, self.solution, at):
            total += table.symbol(*amps)
        return total

    def is_linear(self, nodes: Sequence[str]) -> bool:
        """Whether nothing but linear parts meets any of the nodes."""
        there = set(nodes)
        return not any(part.kind not in "RLIC" and there & set(part.nodes) for part in self._joined())

    def _joined(self) -> Iterator[Part]:
        yield from (part for part in self.circuit.netlist.values() if not _holds(part))


def formula_of(circuit: Circuit, node: str, state: State, solution: Solution) -> Formula | None:
    """The node's formula over the linear parts around it.

    Nodes that a source holds are known (their formula is the source); so are those that a conducting junction or a
    saturated transistor ties to one, its drop being a number of ``solution``. Other nodes are unknown as far as
    resistors and drops reach; where that is more than a person reads, only the node itself is, and its neighbours'
    volts are numbers. What a cut off device or a chip's pin carries enters as a number too.
    """
    flat = flatten(circuit, (*state_edits(circuit, state),))
    own = [part for part in flat.parts if part.name in circuit.netlist]
    held = _held(flat, circuit)
    drops, flows = devices_of(own, solution)
    table = _Table(held, drops, solution)
    if table.known(node):
        symbol = table.volts(node)
        return Formula(symbol, table.numbers, node in held and circuit.part(held[node]).kind == "V")
    around, reached = _Around(circuit, own, flows, solution), _reach(own, node, table, drops)
    linear = not flat.bridges and around.is_linear(reached)
    roots = {table.root(at) for at in reached}
    if len(roots) <= (MOST_NODES if linear else FEW_NODES):
        wide = _solved(around, table, node, reached, linear=linear)
        if wide is not None and (wide.exact or len(wide.expression.free_symbols) <= FEW_NAMES):
            return wide
    root = table.root(node)
    near = _Table(held, drops, solution, only=root)
    return _solved(around, near, node, [at for at in reached if table.root(at) == root], linear=False)


def _solved(around: _Around, table: _Table, node: str, unknown: Sequence[str], *, linear: bool) -> Formula | None:
    """Kirchhoff's current law at the unknown nodes, those that drops tie together as one."""
    totals: dict[str, sympy.Expr] = {}
    for at in unknown:
        root = table.root(at)
        totals[root] = totals.get(root, sympy.Integer(0)) + around.taken(table, at)
    found = sympy.solve(list(totals.values()), [table.unknown(root) for root in totals], dict=True)
    if not found or table.unknown(table.root(node)) not in found[0]:
        return None
    volts = sympy.factor(sympy.together(table.volts(node).subs(found[0])))
    numbers = {str(symbol) for symbol in volts.free_symbols} - around.circuit.netlist.keys()
    return Formula(volts, table.numbers, linear and not numbers)


def _holds(part: Part) -> bool:
    """Whether a part holds its node whatever happens: a source or a supply."""
    return part.kind == "V" or (part.block is not None and is_supply(part))


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


def _held(flat: Flat, circuit: Circuit) -> dict[str, str]:
    """Nodes that a source to ground or a supply holds -> its name."""
    ideal = {n: p.name for p in flat.parts if p.kind == "V" and "0" in p.nodes for n in p.nodes if n != "0"}
    limited = {p.nodes[0]: p.name for p in circuit.netlist.values() if p.block is not None and is_supply(p)}
    return limited | ideal


def _reach(own: Sequence[Part], node: str, table: _Table, drops: Sequence[Drop]) -> list[str]:
    """The node and all that resistors and drops join to it, as far as what is known."""
    found, queue = [node], [node]
    joints = [part.nodes for part in own if part.kind in "RL"] + [(drop.a, drop.b) for drop in drops]
    while queue:
        at = queue.pop(0)
        for ends in joints:
            for other in ends if at in ends else ():
                if other not in found and not table.known(other):
                    found.append(other)
                    queue.append(other)
    return found
