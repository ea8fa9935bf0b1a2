"""What is unsure about a circuit: narrow tolerances, one variable a number; and wide ranges, an axis each."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.circuit import Circuit
from shouldread.parts import THERMAL_VOLTS
from shouldread.quantities import Spread
from shouldread.solve import Network, Param

Array = NDArray[np.float64]

COLD = "cold"
JUNCTION_DOUBT = 0.02  # volts, one sigma: a transistor whose type nobody read (a conducting base reads about 0.6 V)
REVERSE_DOUBT = (
    1.0  # of the logarithm, one sigma: the reverse gain of a type that nobody read, 0.7 to 10 (from memory)
)
MOST_MEMBERS = 2  # faults of one hypothesis, each with a severity of its own


@dataclass(frozen=True, slots=True)
class Variables:
    """``columns`` numbers the narrow ones by key, ``axes`` names the wide ones: severities first, then stray paths,
    unreadable values, and what unknown IC pins show with nothing fed.

    By column: ``doubt`` is a factor on its deviation by doubt of the model, ``even`` whether its law is even between
    hard limits, ``junction`` the deviation of a junction current's logarithm (0 for what is none).
    ``assumed`` numbers the axes of IC pins of which nobody stated what they show.
    """

    columns: Mapping[str, int]
    axes: tuple[str, ...]
    doubt: Array
    even: NDArray[np.bool_]
    junction: Array
    assumed: tuple[int, ...]


def relative_sigma(spread: Spread) -> float:
    """Standard deviation of the logarithm of a number that cannot change sign, else 0."""
    if spread.low * spread.high <= 0:
        return 0.0
    wide = abs(math.log(abs(spread.high) / abs(spread.low)))
    return wide / (4.0 if spread.law == "normal" else math.sqrt(12))


def variables(circuit: Circuit, strays: tuple[str, ...]) -> Variables:
    """All that is unsure, fed and with nothing fed; ``strays`` are the keys of unseen paths."""
    narrow: dict[str, Param] = {}
    axes = [*(f"severity {k + 1}" for k in range(MOST_MEMBERS)), *strays]
    for state in (next(iter(circuit.state_table)), COLD):
        for param in Network(circuit, state=state).params:
            if not param.spread.wide:
                narrow.setdefault(param.key, param)
            elif param.key not in axes:
                axes.append(param.key)
    unknown = _assumed_pins(circuit)
    return Variables(
        {key: k for k, key in enumerate(narrow)},
        tuple(axes),
        np.array([_doubt(p) for p in narrow.values()]),
        np.array([p.spread.law != "normal" for p in narrow.values()], dtype=bool),
        np.array([relative_sigma(p.spread) if p.what == "IS" else 0.0 for p in narrow.values()]),
        tuple(k for k, name in enumerate(axes) if name in unknown),
    )


def _doubt(param: Param) -> float:
    """By how much inference doubts a number more than its spread says, by the type of the part: junctions, reverse
    gain."""
    own = relative_sigma(param.spread)
    more = {"IS": JUNCTION_DOUBT / THERMAL_VOLTS, "BR": REVERSE_DOUBT}.get(param.what, 0.0)
    return math.hypot(own, more) / own if own > 0.0 else 1.0


def _assumed_pins(circuit: Circuit) -> frozenset[str]:
    """Keys of the paths to ground that are assumed at IC pins without a cold fact."""
    found = set()
    for part in circuit.netlist.values():
        if part.block is None:
            continue
        told = part.facts.get("cold", {})
        for pin, facts in part.block.pin_facts.items():
            if facts.cold_ohms is None and not (isinstance(told, dict) and pin in told):
                found.add(f"bridge:cold {part.name}.{pin}")
    return frozenset(found)
