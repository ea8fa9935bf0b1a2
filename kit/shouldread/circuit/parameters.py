"""``.param`` names with what is unsure about them: parts that hang on one vary together, and change together."""

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from shouldread.parts import Part
from shouldread.quantities import Spread, read_spread

if TYPE_CHECKING:
    from shouldread.circuit.circuit import Circuit

NUDGE = 1e-3  # relative, by which a parameter is moved to see what hangs on it

Reread = Callable[[Mapping[str, Spread]], "Circuit"]


def revalued_params(circuit: "Circuit", given: Mapping[str, float | str]) -> "Circuit":
    """The circuit with other values of ``.param`` names; parts that were given values of their own keep those.

    Raises QuantityError; CircuitError where an expression has no value any more.
    """
    assert circuit.reread is not None
    read = {name: read_spread(value) for name, value in given.items()}
    kept = {name: _kept(spread, circuit.given.get(name)) for name, spread in read.items()}
    new_given = {**circuit.given, **kept}
    before, after = circuit.reread(circuit.given), circuit.reread(new_given)
    netlist = {
        name: after.netlist[name] if part == before.netlist.get(name) else part
        for name, part in circuit.netlist.items()
    }
    return replace(circuit, netlist=netlist, params=after.params, blocks=after.blocks, given=new_given)


def _kept(spread: Spread, before: Spread | None) -> Spread:
    """A plain value keeps the spread that stood there."""
    return before.around(spread.nominal) if spread.law == "exact" and before is not None else spread


def varied_together(
    netlist: Mapping[str, Part], moved: Mapping[str, Part], name: str, spread: Spread
) -> dict[str, Part]:
    """Parts whose values hang on a parameter, with its spread, as one variable for all of them.

    ``moved``: the same parts with the parameter up by NUDGE. A part with a tolerance of its own keeps that. Where
    the parameter is wide (``1k..100k``), each part is taken as unsure by itself.
    """
    found = dict(netlist)
    shared: dict[str, object] = {} if spread.wide else {"param": name}
    for key, part in netlist.items():
        other = moved[key]
        if part.value is None or other.value is None or part.value.law != "exact" or not part.value.nominal:
            continue
        power = math.log(other.value.nominal / part.value.nominal) / math.log1p(NUDGE) if other.value.nominal else 0.0
        if abs(power) > 1e-6 and spread.nominal:
            found[key] = replace(
                part,
                value=_carried(part.value.nominal, spread, power),
                facts={**part.facts, **shared, "falls": power < 0},
            )
    return found


def _carried(value: float, spread: Spread, power: float) -> Spread:
    """The spread of a value that goes with the power of a parameter."""
    low, high = sorted(value * (end / spread.nominal) ** power for end in (spread.low, spread.high))
    return Spread(value, low, high, spread.law)
