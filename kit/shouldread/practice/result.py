"""Judging a named fault: right by its group, worth what the readings support."""

from dataclasses import dataclass, field, replace

from shouldread.circuit import Circuit
from shouldread.diagnosis import Diagnosis, diagnose_dealt
from shouldread.faults import Fault
from shouldread.practice.act import Toll
from shouldread.practice.hiding import BEFOREHAND

SUPPORTED = 0.5  # share of belief that the readings must give the group for the answer to be more than a guess


@dataclass(frozen=True, slots=True)
class Result:
    """``right`` is the truth value; ``score`` from 0 (a guess) to 1 (the readings leave nothing else).

    ``toll``: minutes and risk so far. ``predicted``: right predictions of how many made. ``needless``: parts that
    were named, and would have been changed, for nothing.
    """

    right: bool
    score: float
    why: str
    toll: Toll = field(default_factory=Toll)
    predicted: tuple[int, int] = (0, 0)
    needless: int = 0

    def __bool__(self) -> bool:
        return self.right

    def with_road(self, toll: Toll, right: int, made: int, needless: int) -> "Result":
        """The same with what the road cost."""
        return replace(self, toll=toll, predicted=(right, made), needless=needless)

    def as_body(self) -> dict[str, object]:
        """For keeping: plain numbers and words."""
        return {
            "right": self.right,
            "score": round(self.score, 3),
            "minutes": round(self.toll.minutes, 1),
            "risk": round(self.toll.risk, 4),
            "predicted": list(self.predicted),
            "needless": self.needless,
        }

    def __str__(self) -> str:
        right, made = self.predicted
        told = f"{right} of {made} predictions right" if made else "no prediction made"
        return f"{self.why}. {self.toll}; {told}; needless parts: {self.needless}; score {self.score:.2f}"


def judge(circuit: Circuit, named: str, hidden: Fault, text: str, meter: str) -> Result:
    """Whether the named fault is in the hidden one's group, and how far the readings support it.

    Only what was read counts, not the order or the way to it. Of a pair each half is right; each scores by how far
    the readings say that it is there, alone or together with another.
    """
    wanted = {f.name for f in circuit.fault(named)}
    told = diagnose_dealt(circuit, text, BEFOREHAND, meter=meter)
    halves = hidden.members or (hidden,)
    groups = [next((g for g in told.groups if half.name in g.faults), None) for half in halves]
    members = [set(g.faults) if g is not None else {half.name} for g, half in zip(groups, halves, strict=True)]
    named_halves = {m.name for f in circuit.fault(named) for m in f.members} or wanted
    right = any(named_halves & here for here in members) or hidden.name in wanted
    if not right:
        return Result(False, 0.0, f"{named} is not it: the part would have been changed for nothing")
    if hidden.members:
        named_right = [here for here in members if named_halves & here]
        shares = [_share_of(told, here) for here in named_right]
        score = sum(share for share in shares if share >= SUPPORTED) / len(halves)
        said = "right, both of them" if len(named_right) == len(halves) else "right, and one more is still hidden"
        return Result(True, score, said if score else f"{said}, but a guess: the readings taken do not single it out")
    share = groups[0].share if groups[0] is not None else 0.0
    if share < SUPPORTED:
        return Result(True, 0.0, "right, but a guess: the readings taken do not single it out, so it scores nothing")
    others = len(members[0]) - 1
    tail = f"; {others} more cannot be told apart from it by the meter" if others else ""
    return Result(True, share, f"right, and the readings say so{tail}")


def _share_of(told: Diagnosis, half: set[str]) -> float:
    """How much of belief lies where one of these faults is, alone or in a pair."""
    shares = (g.share for g in told.groups if half & {one for fault in g.faults for one in fault.split(" + ")})
    return min(1.0, sum(shares))
