"""Stress: what every part bears, healthy and at worst, against its ratings."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from shouldread.circuit import Circuit
from shouldread.diagnosis import borne
from shouldread.parts import Part
from shouldread.quantities import say, si_number
from shouldread.solve import Solution, solve

if TYPE_CHECKING:
    import pandas

FATAL = 10.0  # times its rating: the part dies, and readings under that fault are not to be trusted
RATED = ("watts", "volts", "amps")


@dataclass(frozen=True, slots=True)
class Load:
    """Volts across, amps into the first pin and watts in a part; ``_worst`` under the fault and state ``under``."""

    part: str
    volts: float
    amps: float
    watts: float
    volts_worst: float
    amps_worst: float
    watts_worst: float
    under: str
    rating: str
    verdict: str


@dataclass(frozen=True, slots=True)
class Stress:
    """The loads of all parts, in the order of the board."""

    loads: tuple[Load, ...]

    def __getitem__(self, part: str) -> Load:
        return next(load for load in self.loads if load.part.casefold() == part.casefold())

    def frame(self) -> "pandas.DataFrame":
        """One row a part, SI floats."""
        import pandas as pd

        return pd.DataFrame([{f.name: getattr(load, f.name) for f in fields(Load)} for load in self.loads])

    def __str__(self) -> str:
        rows = ["part      watts        worst        under"]
        for load in self.loads:
            worst = f"{say(load.watts_worst, 'W', 3):<12}"
            rows.append(f"{load.part:<9} {say(load.watts, 'W', 3):<12} {worst} {load.under}: {load.verdict}")
        return "\n".join(rows)


def stress(circuit: Circuit, *, faults: Iterable[str] | None = None) -> Stress:
    """Volts, amps and watts of every part, healthy (worst state) and under every single fault in every state.

    Power is the sum over the pins of volts times amps into the pin, as ngspice reckons it. Ratings are the parts'
    facts ``watts``, ``volts``, ``amps``; what is not stated is said to be unknown, not invented. ``faults``: only
    these (none: healthy states alone).

    >>> import shouldread as sr
    >>> table = sr.stress(sr.load_circuit("two_feed_enable")).frame()
    >>> f"{table.set_index('part').watts['R1'] * 1e3:.1f} mW in R1 of a good board"
    '2.7 mW in R1 of a good board'
    """
    healthy = {state: solve(circuit, state=state) for state in circuit.states}
    faulty = [
        (f"{fault} @{state}", solve(circuit, state=state, fault=fault))
        for state in circuit.states
        for fault in (circuit.faults if faults is None else faults)
    ]
    return Stress(tuple(_load(part, healthy, faulty) for part in circuit.netlist.values()))


def _load(part: Part, healthy: dict[str, Solution], faulty: list[tuple[str, Solution]]) -> Load:
    normal = [(state, borne(part, solution)) for state, solution in healthy.items()]
    every = normal + [(name, borne(part, s)) for name, s in faulty if not name.startswith(f"{part.name} ")]
    base = max(normal, key=lambda row: _size(row[1][2]))[1]
    worst = [max((abs(row[1][k]) for row in every if not math.isnan(row[1][k])), default=math.nan) for k in range(3)]
    under = max(every, key=lambda row: _size(row[1][2]))[0]
    rating, verdict = _verdict(part, dict(zip(("volts", "amps", "watts"), worst, strict=True)), under)
    return Load(part.name, *base, worst[0], worst[1], worst[2], under, rating, verdict)


def _size(value: float) -> float:
    return -1.0 if math.isnan(value) else abs(value)


def _verdict(part: Part, worst: dict[str, float], under: str) -> tuple[str, str]:
    limits = {k: _rated(part, k) for k in RATED}
    known = {k: v for k, v in limits.items() if v is not None}
    if not known:
        return "unknown", "rating not stated"
    words = ", ".join(f"{say(v, {'watts': 'W', 'volts': 'V', 'amps': 'A'}[k])}" for k, v in known.items())
    over = {k: worst[k] / v for k, v in known.items() if worst[k] > v}
    if not over:
        return words, "within its rating"
    what, times = max(over.items(), key=lambda item: item[1])
    if times > FATAL:
        return words, f"part dies here: readings under {under} not trustworthy ({times:.0f} x its {what})"
    return words, f"carries {times:.1f} x its {what} under {under}"


def _rated(part: Part, what: str) -> float | None:
    told = part.facts.get(what)
    if told is None:
        return None
    return si_number(str(told))[0]
