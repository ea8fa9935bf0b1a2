"""Hypotheses: nothing wrong here, one fault, a listed pair of faults; each with its share of belief beforehand."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from shouldread.circuit import Circuit
from shouldread.diagnosis.listed_pairs import listed_pairs
from shouldread.faults import Fault

HEALTHY = "nothing wrong here"
GENERIC_CASES = 20.0  # cases of one's own that weigh as much as the handbooks' figures


class KnownCauses(Protocol):
    """What a diagnosis needs of a casebook."""

    def cause_counts(self) -> Mapping[str, int]:
        """How often each fault was the cause, by its canonical spelling."""
        ...


@dataclass(frozen=True, slots=True)
class Masses:
    """How belief is dealt out before anything is read; singles get the rest.

    ``steepness``: the power of their weights that singles (and pairs) are dealt by; 1 as parts fail, 0 all alike.
    """

    healthy: float = 0.5
    none_of_these: float = 0.03
    pairs: float = 0.03
    steepness: float = 1.0

    @property
    def singles(self) -> float:
        """What is left for the single faults."""
        return 1.0 - self.healthy - self.none_of_these - self.pairs


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One way things may stand. ``fault`` is None for healthy. ``prior`` is its share before any reading."""

    name: str
    fault: Fault | None
    prior: float

    @property
    def members(self) -> tuple[Fault, ...]:
        """The single faults of it: none, one or two."""
        if self.fault is None:
            return ()
        return self.fault.members or (self.fault,)

    @property
    def parts(self) -> tuple[str, ...]:
        """Every part that it accuses."""
        return () if self.fault is None else self.fault.parts


@dataclass(frozen=True, slots=True)
class Hypotheses:
    """All of them, healthy first, then singles and pairs in the order of the circuit file."""

    all: tuple[Hypothesis, ...]
    none_of_these: float
    index: Mapping[str, int] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.all)


def hypotheses(circuit: Circuit, masses: Masses | None = None, casebook: KnownCauses | None = None) -> Hypotheses:
    """Every hypothesis about a circuit. Shares sum to 1 with ``none_of_these``.

    A fault's weight is rate x share x bench multiplier; causes counted in the casebook move it towards what was
    found, n of one's own cases weighing as n / (n + 20).
    """
    dealt = masses or Masses()
    singles = circuit.single_faults
    pairs = listed_pairs(tuple(circuit.netlist.values()), singles)
    counts = dict(casebook.cause_counts()) if casebook is not None else {}
    single_mass = dealt.singles + (0.0 if pairs else dealt.pairs)
    pair_mass = dealt.pairs if pairs else 0.0
    none = dealt.none_of_these
    healthy = dealt.healthy
    if not singles:
        healthy += single_mass
        single_mass = 0.0
    rows = [Hypothesis(HEALTHY, None, healthy)]
    rows += [
        Hypothesis(str(f), f, single_mass * w)
        for f, w in zip(singles, _weights(singles, counts, dealt.steepness), strict=True)
    ]
    rows += [
        Hypothesis(str(f), f, pair_mass * w)
        for f, w in zip(pairs, _weights(pairs, counts, dealt.steepness), strict=True)
    ]
    return Hypotheses(tuple(rows), none, {row.name: k for k, row in enumerate(rows)})


def _weights(faults: Sequence[Fault], counts: Mapping[str, int], steepness: float) -> list[float]:
    if not faults:
        return []
    heaps = [f.prior**steepness if f.prior > 0 else 0.0 for f in faults]
    whole = sum(heaps)
    shares = [heap / whole if whole > 0 else 1 / len(faults) for heap in heaps]
    seen = [float(counts.get(str(f), 0)) for f in faults]
    total = sum(seen)
    return [(GENERIC_CASES * s + n) / (GENERIC_CASES + total) for s, n in zip(shares, seen, strict=True)]
