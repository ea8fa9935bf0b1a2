"""The road of a case: every probe in order with what it told, and the rails before and after."""

from dataclasses import dataclass

from shouldread.casebook.form import TOLD
from shouldread.casebook.proof_sheet import key_of, read_before
from shouldread.casebook.record import Record
from shouldread.casebook.said import AFTER, placed, words_of
from shouldread.circuit import Circuit
from shouldread.diagnosis import Diagnosis, diagnose
from shouldread.errors import KitError
from shouldread.meter import Reading
from shouldread.repair import Proof

AS_READ = ("cold table again", "rails")  # stages of the hand-over sheet whose lines are readings of a place


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the road: when, what was read, seen or done, and what stood after it."""

    at: str
    kind: str
    text: str
    told: str = ""


@dataclass(frozen=True, slots=True)
class RailRow:
    """A place read both before and after the repair (either may be missing)."""

    place: str
    before: str
    after: str


def road(case: Record) -> tuple[Step, ...]:
    """All standing readings, observations and work, each with what it left of the suspects of its stage."""
    events = case.standing()
    circuits = {event.uid: circuit for event, _, circuit in placed(events)}
    so_far: tuple[Circuit, Diagnosis] | None = None
    steps = []
    for event in events:
        if event.kind not in TOLD:
            continue
        circuit, told = circuits.get(event.uid), ""
        if circuit is not None and not event.body.get("good") and not event.body.get("rails"):
            text = str(event.body["text"])
            try:
                new = so_far is None or so_far[0].text != circuit.text
                so_far = circuit, diagnose(circuit, text) if new or so_far is None else so_far[1].also(text)
                told = _standing(so_far[1])
            except KitError as trouble:
                told = str(trouble).splitlines()[0]
        steps.append(Step(f"{event.at:%Y-%m-%d %H:%M}", event.kind, words_of(event), told))
    return tuple(steps)


def _standing(diagnosis: Diagnosis) -> str:
    """How many groups are left and which leads."""
    likely = [group for group in diagnosis.groups if group.share > 0.02]
    if not likely or diagnosis.none_of_these > likely[0].share:
        return "none of the known faults fits"
    lead = ", ".join(likely[0].faults[:3]) + (" ..." if len(likely[0].faults) > 3 else "")
    return f"{len(likely)} group{'s' if len(likely) != 1 else ''} left, first: {lead}"


def rails(case: Record, sheet: Proof | None = None) -> tuple[RailRow, ...]:
    """Every place that was read: the last reading before the repair and the last one after it (or on the sheet)."""
    before, after = dict(read_before(case)), dict[str, str]()
    for event, items, _ in placed(case.standing()):
        if event.kind == "reading" and not event.body.get("good"):
            after |= {key_of(r): r.text for r in items if isinstance(r, Reading) and AFTER in r.conditions}
    for check in sheet.checks if sheet is not None else ():
        if check.shown and check.stage in AS_READ:
            after[check.key] = check.shown
    return tuple(RailRow(key, before.get(key, ""), after.get(key, "")) for key in dict.fromkeys([*before, *after]))
