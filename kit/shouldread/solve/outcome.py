"""What became of a solve, in words: odd circuits are outcomes, never exceptions."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Word = Literal["solved", "floating", "several", "no steady state", "failed", "not available"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """``word`` (failed > no steady state > several > floating > solved), a sentence, and the evidence.

    ``nodes``: those the sentence is about; ``floating``: nodes that nothing holds; ``others``: other stable
    answers, each node -> volts. ``not available`` is said only by a second opinion that cannot be had.
    """

    word: Word
    sentence: str
    nodes: tuple[str, ...] = ()
    floating: tuple[str, ...] = ()
    others: tuple[Mapping[str, float], ...] = ()

    def __str__(self) -> str:
        return self.sentence


@dataclass(frozen=True, slots=True)
class Solution:
    """Volts of every node, amps of every part (into its first pin), amps of every pin (``"Q1.b"``), outcome.

    ``bits``: switch elements as reached (``U1.S1`` -> 1 when on), for ``to_spice``.
    """

    volts: Mapping[str, float]
    amps: Mapping[str, float]
    pin_amps: Mapping[str, float]
    outcome: Outcome
    bits: Mapping[str, int] = field(default_factory=dict)

    def __str__(self) -> str:
        rows = [str(self.outcome)]
        rows += [f"  {n:<14} {'floats' if math.isnan(v) else f'{v:.5g} V'}" for n, v in self.volts.items() if n != "0"]
        return "\n".join(rows)


def named(names: tuple[str, ...], most: int = 6) -> str:
    """A list in a sentence."""
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")
