"""Judging a named fault: right by its group, worth what the readings support."""

from dataclasses import dataclass

from shouldread.circuit import Circuit
from shouldread.diagnosis import diagnose
from shouldread.faults import Fault

SUPPORTED = 0.5  # share of belief that the readings must give the group for the answer to be more than a guess


@dataclass(frozen=True, slots=True)
class Result:
    """``right`` is the truth value; ``score`` from 0 (a guess) to 1 (the readings leave nothing else)."""

    right: bool
    score: float
    why: str

    def __bool__(self) -> bool:
        return self.right


def judge(circuit: Circuit, named: str, hidden: Fault, text: str, meter: str) -> Result:
    """Whether the named fault is in the hidden one's group, and how far the readings support it."""
    wanted = {f.name for f in circuit.fault(named)} | ({named} if "+" in named else set())
    told = diagnose(circuit, text, meter=meter)
    group = next((g for g in told.groups if hidden.name in g.faults), None)
    members = set(group.faults) if group is not None else {hidden.name}
    if hidden.members:
        members = {hidden.name} | {m.name for m in hidden.members}
    right = bool(wanted & members)
    share = group.share if group is not None else 0.0
    if not right:
        return Result(False, 0.0, f"{named} is not it: the part would have been changed for nothing")
    if share < SUPPORTED:
        return Result(True, 0.0, "right, but a guess: the readings taken do not single it out, so it scores nothing")
    others = len(members) - 1
    tail = f"; {others} more cannot be told apart from it by the meter" if others else ""
    return Result(True, share, f"right, and the readings say so{tail}")
