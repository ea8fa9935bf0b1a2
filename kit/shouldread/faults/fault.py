"""Fault: a part, a way to fail, and how bad; a change of circuit kept as data."""

from dataclasses import dataclass, replace

from shouldread.faults.wording import say_severity
from shouldread.parts import Severity


@dataclass(frozen=True, slots=True)
class Fault:
    """One way that one part fails, or a listed pair of such (``members``).

    ``name`` is the canonical spelling without a severity (``R3 drifted high``), ``str(fault)`` with it
    (``R3 drifted x4``). ``prior`` is the weight rate x share x bench, not yet normalised.
    ``severity_range`` is None where a fault has no degrees. ``pins`` are the places of a joint or bridge.
    """

    parts: tuple[str, ...]
    mode: str
    severity: float | None = None
    name: str = ""
    prior: float = 0.0
    severity_range: Severity | None = None
    pins: tuple[str, ...] = ()
    members: tuple["Fault", ...] = ()
    source: str = ""

    def __str__(self) -> str:
        if self.members:
            return " + ".join(map(str, self.members))
        if self.severity is None or self.severity_range is None:
            return self.name
        plain = self.name.removesuffix(" high").removesuffix(" low") if "drifted" in self.mode else self.name
        return f"{plain} {say_severity(self.severity_range.unit, self.severity)}"

    def with_severity(self, severity: float) -> "Fault":
        """The same fault, this bad: ohms of a leak, factor of a drift. A pair passes it to its members."""
        if self.members:
            graded = (m.with_severity(severity) if m.severity_range else m for m in self.members)
            return replace(self, members=tuple(graded))
        return replace(self, severity=severity) if self.severity_range else self
