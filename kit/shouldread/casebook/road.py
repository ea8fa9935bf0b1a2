"""The road of a case: every probe in order with what it told, and the rails before and after."""

from dataclasses import dataclass

from shouldread.casebook.record import Record
from shouldread.casebook.said import READ, items_of
from shouldread.diagnosis import diagnose
from shouldread.errors import KitError
from shouldread.meter import Observation, Reading
from shouldread.quantities import say

AFTER = "after repair"


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
    """All standing readings, observations and work, each with what it left of the suspects."""
    circuit = case.circuit
    diagnosis = None
    steps = []
    for event in case.standing():
        if event.kind not in ("reading", "observation", "done", "supply", "cause", "proved", "note"):
            continue
        told = ""
        if event.kind in READ and circuit is not None and not event.body.get("good") and not event.body.get("rails"):
            try:
                text = str(event.body["text"])
                diagnosis = diagnosis.also(text) if diagnosis is not None else diagnose(circuit, text)
                told = _standing(diagnosis)
            except KitError as trouble:
                told = str(trouble).splitlines()[0]
        steps.append(Step(f"{event.at:%Y-%m-%d %H:%M}", event.kind, _words(event.kind, event.body), told))
    return tuple(steps)


def _standing(diagnosis) -> str:  # type: ignore[no-untyped-def]
    """How many groups are left and which leads."""
    likely = [group for group in diagnosis.groups if group.share > 0.02]
    if not likely or diagnosis.none_of_these > likely[0].share:
        return "none of the known faults fits"
    lead = ", ".join(likely[0].faults[:3]) + (" ..." if len(likely[0].faults) > 3 else "")
    return f"{len(likely)} group{'s' if len(likely) != 1 else ''} left, first: {lead}"


def _words(kind: str, body) -> str:  # type: ignore[no-untyped-def]
    if kind == "supply":
        units = {"volts": "V", "limit": "A", "amps": "A"}
        return ", ".join(
            f"{k} {say(v, units[k]) if k in units and isinstance(v, int | float) else v}" for k, v in body.items()
        )
    if kind == "done" and (body.get("part") or body.get("lot")):
        return f"{body['text']} (part {body.get('part') or 'not noted'}, lot {body.get('lot') or 'not noted'})"
    return str(next(iter(body.values())) if kind != "reading" else body["text"])


def rails(case: Record) -> tuple[RailRow, ...]:
    """Every place that was read: the last reading before the repair and the last one after it."""
    before: dict[str, str] = {}
    after: dict[str, str] = {}
    circuit = case.circuit
    for event in case.standing():
        if event.kind != "reading" or event.body.get("good"):
            continue
        for item in items_of(event, circuit):
            if isinstance(item, Observation):
                continue
            key = _place(item)
            (after if AFTER in item.conditions else before)[key] = item.text
    return tuple(RailRow(key, before.get(key, ""), after.get(key, "")) for key in dict.fromkeys([*before, *after]))


def _place(reading: Reading) -> str:
    pair = f"{reading.place} to {reading.to}" if reading.to else reading.place
    return pair + (f" {reading.setting}" if reading.setting != "volts" else "")
