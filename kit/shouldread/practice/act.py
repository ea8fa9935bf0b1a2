"""Acts of a repair in practice: what each costs in minutes and what it risks."""

from collections.abc import Mapping
from dataclasses import dataclass

# minutes and risk (0 to 1, chance of doing harm) of each kind of act; own judgement, to be edited by a trainer
TOLLS: Mapping[str, tuple[float, float]] = {
    "volts": (0.5, 0.002),
    "amps": (0.2, 0.0),
    "ohms": (0.6, 0.0005),
    "diode": (0.6, 0.0005),
    "power": (2.0, 0.0),  # between a fed and a cold state: switch off, discharge, switch on
    "bridged": (3.0, 0.02),
    "linked": (3.0, 0.02),
    "lifted": (6.0, 0.03),
    "removed": (8.0, 0.05),
    "taken back": (2.0, 0.005),
    "stressed": (5.0, 0.01),  # warmed, cooled, flexed
    "inject": (4.0, 0.01),
    "observe": (3.0, 0.0),
    "stopped": (1.0, 0.2),  # an act that would have done harm, stopped in time
    "name": (15.0, 0.05),  # a part replaced on suspicion
    "give up": (20.0, 0.0),
}


@dataclass(frozen=True, slots=True)
class Toll:
    """Minutes spent and harm risked so far."""

    minutes: float = 0.0
    risk: float = 0.0

    def __add__(self, other: "Toll") -> "Toll":
        return Toll(self.minutes + other.minutes, 1 - (1 - self.risk) * (1 - other.risk))

    def __str__(self) -> str:
        minutes = f"{self.minutes:.1f}".removesuffix(".0")
        return f"{minutes} min, risk {100 * self.risk:.0f} %" if self.risk >= 0.005 else f"{minutes} min"


@dataclass(frozen=True, slots=True)
class Act:
    """One thing the learner did: kind, words, what came of it, the toll, and what it told."""

    kind: str
    said: str
    answer: str
    toll: Toll
    stopped: bool = False

    def __str__(self) -> str:
        flag = " [stopped]" if self.stopped else ""
        return f"{self.said}: {self.answer}{flag} ({self.toll})"


def toll(kind: str) -> Toll:
    """The toll of a kind of act."""
    return Toll(*TOLLS[kind])
