"""RailWalk: what a walk along the rails found, as text, as a table, and by rail."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

from shouldread.diagnosis.rail_road import RailStep

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True, slots=True)
class RailRow:
    """One rail of the walk: what was read as typed, what it should read in words, verdict, evidence, why."""

    name: str
    read: str
    should: str
    verdict: str
    evidence: str
    why: str


@dataclass(frozen=True, slots=True)
class RailWalk:
    """Where the rails stand. ``first_wrong`` is the first rail that is wrong although its own feed is not.

    ``waiting``: rails that cannot come up before it. ``not_judged``: their input is not fed. ``verdicts`` and
    ``evidence`` by rail name. ``causes``: what may stand behind the first wrong rail and cannot be told apart
    yet. ``next_places``: where to probe, in order, as typed before a value; ``next_steps``: the same with why.
    """

    rows: tuple[RailRow, ...]
    first_wrong: str | None
    waiting: tuple[str, ...]
    not_judged: tuple[str, ...]
    also_wrong: tuple[str, ...]
    causes: tuple[str, ...]
    next_steps: tuple[RailStep, ...]
    supply_says: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    caution: str = ""
    setting: str = "volts"

    @property
    def verdicts(self) -> Mapping[str, str]:
        """Verdict of every rail."""
        return MappingProxyType({row.name: row.verdict for row in self.rows})

    @property
    def evidence(self) -> Mapping[str, str]:
        """Evidence kind behind each verdict: calculated, compared, rule of thumb or none."""
        return MappingProxyType({row.name: row.evidence for row in self.rows})

    @property
    def next_places(self) -> tuple[str, ...]:
        """Where to probe next, in order: a place, with its setting when that is not volts."""
        return tuple(dict.fromkeys(step.place for step in self.next_steps))

    def frame(self) -> "pandas.DataFrame":
        """The rails as a table: rail, read, should_read, verdict, evidence, why."""
        import pandas

        columns = ("rail", "read", "should_read", "verdict", "evidence", "why")
        rows = [(r.name, r.read, r.should, r.verdict, r.evidence, r.why) for r in self.rows]
        return pandas.DataFrame(rows, columns=list(columns))

    def __str__(self) -> str:
        wide = max([4, *(len(row.name) for row in self.rows)])
        lines = [
            f"{row.name:<{wide}}  {row.read or '-':>10}  {row.verdict} ({row.evidence}): {row.why}"
            for row in self.rows
        ]
        said = [("First wrong rail", self.first_wrong or "none so far")]
        said += [("Waiting for it", ", ".join(self.waiting))] if self.waiting else []
        said += [("Also wrong, not behind it", ", ".join(self.also_wrong))] if self.also_wrong else []
        said += [("Not judged, its input is not fed", ", ".join(self.not_judged))] if self.not_judged else []
        said += [("Supply", "; ".join(self.supply_says))] if self.supply_says else []
        said += [("Cannot be told apart yet", "; ".join(self.causes))] if self.causes else []
        said += [("Assumed", "; ".join(self.assumed))] if self.assumed else []
        said += [("Caution", self.caution)] if self.caution else []
        lines += [f"{head}: {words}" for head, words in said]
        return "\n".join([*lines, *(f"Next: {step}" for step in self.next_steps)])
