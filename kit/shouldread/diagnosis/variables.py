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
MOST_MEMBERS = 2  # faults of one hypothesis, each with a severity of its own


@dataclass(frozen=True, slots=True)
class TypeDoubt:
    """How far a number may be off because nobody read the type of the part, in its logarithm: one ``sigma``, or that by
    which nine tenths of types lie within ``limits``; and all that ``another`` common type may make of it."""

    another: float
    sigma: float = 0.0
    limits: tuple[float, float] | None = None

    def about(self, stated: float) -> float:
        """One sigma about the number that a model states."""
        if self.limits is None:
            return self.sigma
        low, high = self.limits
        return max(abs(math.log(high / stated)), abs(math.log(stated / low))) / NINE_TENTHS


NINE_TENTHS = 1.645  # deviations to either side that hold as much of a normal law
REVERSE_GAINS = (0.7, 10.0)  # of common transistors (from memory)
TYPE_DOUBTS: Mapping[str, TypeDoubt] = {
    # a conducting junction, 20 and 60 mV (a base reads about 0.6 V): common practice, no source
    "IS": TypeDoubt(0.06 / THERMAL_VOLTS, sigma=0.02 / THERMAL_VOLTS),
    "BR": TypeDoubt(math.log(REVERSE_GAINS[1] / REVERSE_GAINS[0]), limits=REVERSE_GAINS),
}


@dataclass(frozen=True, slots=True)
class Variables:
    """``columns`` numbers the narrow ones by key, ``axes`` names the wide ones: severities first, then stray paths,
    unreadable values, and what unknown IC pins show with nothing fed.

    By column: ``doubt`` is a factor on its deviation by doubt of the model, ``even`` whether its law is even between
    hard limits, ``another`` by how many of its deviations a part of another common type may be off (0 where none is).
    ``assumed`` numbers the axes of IC pins of which nobody stated what they show; ``values`` (D,) are the axes that are
    unreadable values.
    """

    columns: Mapping[str, int]
    axes: tuple[str, ...]
    doubt: Array
    even: NDArray[np.bool_]
    another: Array
    assumed: tuple[int, ...]
    values: NDArray[np.bool_]


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
        np.array([_another(p) for p in narrow.values()]),
        tuple(k for k, name in enumerate(axes) if name in unknown),
        np.array([name.endswith(".value") for name in axes], dtype=bool),
    )


def _doubt(param: Param) -> float:
    """By how much inference doubts a number more than its spread says, by the type of the part."""
    own, of_type = relative_sigma(param.spread), TYPE_DOUBTS.get(param.what)
    return math.hypot(own, of_type.about(param.spread.nominal)) / own if of_type is not None and own > 0.0 else 1.0


def _another(param: Param) -> float:
    own, of_type = relative_sigma(param.spread), TYPE_DOUBTS.get(param.what)
    return of_type.another / own if of_type is not None and own > 0.0 else 0.0


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
