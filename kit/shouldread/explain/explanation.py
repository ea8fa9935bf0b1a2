"""The explain verb: why a node reads what it reads."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import sympy

from shouldread.circuit import Circuit
from shouldread.errors import RequestError
from shouldread.explain.formula import formula_of
from shouldread.explain.regions import CARRIES, Region, regions
from shouldread.quantities import say
from shouldread.solve import Network, Solution, solve

MOST_LIFTERS = 4  # resistors at the node that the words name
NUMBERED = re.compile(r"[A-Za-z]\d*")  # R7: what LaTeX sets as a letter with an index by itself
EXACT = 1e-6  # relative: what an exact formula may differ from the solver


@dataclass(frozen=True, slots=True)
class Explanation:
    """``formula`` and ``latex`` of the node's volts (empty where none can be read), ``value`` and ``error`` in V.

    ``exact``: holds for any values; else it holds at this point, junction currents being numbers. ``words``: the
    road in words; ``most_sensitive``: (part, volts per percent), the strongest first.
    """

    node: str
    state: str
    formula: str
    latex: str
    numbers: tuple[tuple[str, float], ...]
    value: float
    error: float
    exact: bool
    words: tuple[str, ...]
    most_sensitive: tuple[tuple[str, float], ...]

    @property
    def mathematics(self) -> str:
        """The formula with its left side and its value, as LaTeX; empty where there is no formula."""
        if not self.latex:
            return ""
        left = f"V_{{\\mathrm{{{self.node.replace('_', chr(92) + '_')}}}}}"
        sign = "=" if self.exact else "\\approx"
        return f"{left} = {self.latex} {sign} {self.value:.4g}\\,\\mathrm{{V}}"

    def __str__(self) -> str:
        rows = [f"{self.node} @{self.state.replace('_', ' ')} reads {say(self.value, 'V')}"]
        if self.formula:
            kind = "exact" if self.exact else "valid at this point"
            rows += [f"  {self.node} = {self.formula}", f"  ({kind}, error {say(self.error, 'V', 2)})"]
            rows.append("  with " + ", ".join(f"{name} = {value:.4g}" for name, value in self.numbers))
        rows += [f"  {word}" for word in self.words]
        if self.most_sensitive:
            rows.append(
                "  moves most with " + ", ".join(f"{p} ({say(v, 'V', 2)} per %)" for p, v in self.most_sensitive)
            )
        return "\n".join(rows)


def explain(circuit: Circuit, node: str, *, state: str | None = None) -> Explanation:
    """Why a node reads that: its formula with numbers, the road in words, and what it is most sensitive to.

    Raises UnknownNameError for a node or state that is not there, RequestError where the circuit has no answer.

    >>> import shouldread as sr
    >>> print(sr.explain(sr.load_circuit("two_feed_enable"), "EN"))  # doctest: +ELLIPSIS
    EN @run reads 2.299 V
    ...
    """
    at, where = circuit.node(node), circuit.state(state)
    solution = solve(circuit, state=where.name)
    volts = solution.volts[at]
    if volts != volts:
        raise RequestError(f"{at} has no volts to explain: {solution.outcome.sentence}", value=node)
    found = formula_of(circuit, at, where, solution)
    error = 0.0 if found is None else abs(found.value - volts)
    exact = found is not None and found.exact and error <= EXACT * max(abs(volts), 1e-3)
    numbers = (
        ()
        if found is None
        else tuple(sorted((s.name, v) for s, v in found.numbers.items() if s in found.expression.free_symbols))
    )
    return Explanation(
        at,
        where.name,
        "" if found is None else str(found.expression),
        "" if found is None else _latex(found.expression),
        numbers,
        volts,
        error,
        exact,
        (*(str(r) for r in _road(circuit, at, regions(circuit, solution))), *_lifted(circuit, at, solution)),
        _sensitive(circuit, at, where.name),
    )


def _latex(expression: sympy.Expr) -> str:
    """The formula as LaTeX, names of several letters upright: VMAIN is one name, no product."""
    names = {}
    for symbol in expression.free_symbols:
        head, _, rest = str(symbol).partition("_")
        if rest and head in ("U", "I"):
            names[symbol] = f"{head}_{{\\mathrm{{{rest.replace('_', chr(92) + ',')}}}}}"
        elif not NUMBERED.fullmatch(str(symbol)):
            names[symbol] = f"\\mathrm{{{str(symbol).replace('_', chr(92) + '_')}}}"
    return str(sympy.latex(expression, symbol_names=names))


def _road(circuit: Circuit, node: str, found: tuple[Region, ...]) -> tuple[Region, ...]:
    """The devices from which the node can be reached, in the order of the board."""
    reached, names = {node}, set()
    grown = True
    while grown:
        grown = False
        for part in circuit.netlist.values():
            if part.name in names or part.kind in "VI" or not reached & set(part.nodes):
                continue
            names.add(part.name)
            reached |= {n for n in part.nodes if n != "0"}
            grown = True
    return tuple(region for region in found if region.part in names)


def _lifted(circuit: Circuit, node: str, solution: Solution) -> Iterator[str]:
    """What resistors and coils do at the node, the one that carries most first: they lift it or pull it down."""
    found = []
    for part in circuit.netlist.values():
        if part.kind in "RL" and node in part.nodes and part.nodes[0] != part.nodes[1]:
            other = part.nodes[1] if part.nodes[0] == node else part.nodes[0]
            amps = solution.pin_amps[f"{part.name}.{part.pins[0]}"]
            if abs(amps) > CARRIES / 100 and solution.volts[other] == solution.volts[other]:
                up = solution.volts[other] > solution.volts[node]
                found.append((abs(amps), part.name, up, "ground" if other == "0" else other))
    told = sorted(found, reverse=True)[:MOST_LIFTERS]
    words = [f"{name} {'lifts it towards' if up else 'pulls it down to'} {other}" for _, name, up, other in told]
    if words:
        yield f"{node} stands at {say(round(solution.volts[node], 4) + 0.0, 'V', 3)}: {', '.join(words)}"


def _sensitive(circuit: Circuit, node: str, state: str) -> tuple[tuple[str, float], ...]:
    network = Network(circuit, state=state)
    if not network.params:
        return ()
    slopes = network.solve().sensitivity([(node, "0")])[0, 0]
    per_percent = slopes * network.nominal / 100
    order = np.argsort(-np.abs(per_percent))[:4]
    return tuple((network.params[k].key, float(per_percent[k])) for k in order if abs(per_percent[k]) > 1e-6)
