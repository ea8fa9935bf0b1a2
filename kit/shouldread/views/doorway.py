"""The doorway as plain data: board, supply, rails with verdicts, what to probe next. No circuit in it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from shouldread.diagnosis import RailRow, RailStep, RailWalk
from shouldread.views.words import CAUTIONS, State, listed

NO_SUPPLY: Mapping[str, str] = {"volts": "", "limit": "", "amps": "", "fed": ""}


@dataclass(frozen=True, slots=True)
class DoorwayFacts:
    """What stands in the case for this screen: all texts as they were typed."""

    board: str = ""
    symptom: str = ""
    setting: str = "volts"
    supply: Mapping[str, object] = field(default_factory=dict)
    facts: Mapping[str, str] = field(default_factory=dict)  # what was typed after each rail's name
    revision: int = 0


def doorway_state(facts: DoorwayFacts, walk: RailWalk) -> State:
    """The whole screen for the page and for the saved output."""
    return {
        "revision": facts.revision,
        "board": facts.board,
        "symptom": facts.symptom,
        "setting": facts.setting,
        "supply": {**NO_SUPPLY, **facts.supply},
        "rows": [_row(row, facts.facts, walk) for row in walk.rows],
        "finding": finding(walk),
        "says": list(walk.supply_says),
        "causes": list(walk.causes),
        "assumed": list(walk.assumed),
        "caution": CAUTIONS[facts.setting] if walk.next_steps or not walk.caution else walk.caution,
        "next": [
            {"place": s.place, "at": s.at, "setting": s.setting, "state": s.state, "why": _why(s)}
            for s in walk.next_steps
        ],
    }


def _row(row: RailRow, known: Mapping[str, str], walk: RailWalk) -> State:
    name = row.name
    first, waits = name == walk.first_wrong, name in walk.waiting
    judged = name not in walk.not_judged
    said = row.verdict if row.read else ""
    if not judged:
        said = "not judged"
    elif first:
        said += ", first wrong"
    elif waits:
        said = f"{said}, waits for {walk.first_wrong}" if said else f"waits for {walk.first_wrong}"
    kind = "" if row.evidence == "none" or not judged else f"{row.evidence}: "
    why = row.why if row.read or not judged else row.should
    return {
        "name": name,
        "facts": known.get(name, ""),
        "read": row.read,
        "verdict": row.verdict if row.read and judged else "",
        "said": said,
        "why": f"{kind}{why}" if why else "",
        "first": first,
        "waits": waits,
    }


def _why(step: RailStep) -> str:
    cold = "cold: " if step.state == "cold" else ""
    return f"{cold}{step.why}" + (f" ({step.caution})" if step.caution else "")


def finding(walk: RailWalk) -> str:
    """The one sentence that stands above the rails."""
    if walk.first_wrong is not None:
        waits = f" {listed(walk.waiting)} wait{'s' if len(walk.waiting) == 1 else ''} for it."
        return f"First wrong rail: {walk.first_wrong}." + (waits if walk.waiting else "")
    read = [row for row in walk.rows if row.read]
    if not read:
        return ""
    if all(row.verdict == "as it should be" for row in read):
        return "No rail is wrong so far."
    return "No rail is wrong as far as these figures can tell."
