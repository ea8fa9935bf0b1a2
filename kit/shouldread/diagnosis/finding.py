"""What a diagnosis says: groups of faults, suspects, probes."""

from dataclasses import dataclass, field

from shouldread.diagnosis.wording import rank


@dataclass(frozen=True, slots=True)
class Group:
    """Faults that no offered reading tells apart, most likely first, their share, and what would tell them apart."""

    faults: tuple[str, ...]
    share: float
    split_by: str = ""

    def __str__(self) -> str:
        return f"{rank(self.share)}: {', '.join(self.faults)}"


@dataclass(frozen=True, slots=True)
class Suspect:
    """A fault with its share of belief, why it stands there, and its group."""

    fault: str
    share: float
    why: str
    group: Group = field(repr=False)

    def __str__(self) -> str:
        return f"{self.fault}: {rank(self.share)}; {self.why}"


@dataclass(frozen=True, slots=True)
class Probe:
    """A reading to take next, entered as ``f"{p.at} {p.setting} VALUE @{p.state}"``. Gain in bits, cost in minutes."""

    at: str
    setting: str
    state: str
    gain: float
    cost: float
    why: str
    caution: str

    def __str__(self) -> str:
        return f"{self.at} {self.setting} @{self.state}: {self.why} ({self.caution})"
