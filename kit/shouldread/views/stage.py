"""The stage as plain data: points with what they should read, suspects in three ranks, the next probe."""

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from shouldread.circuit import Circuit, is_supply
from shouldread.diagnosis import Band, Diagnosis, Expectation, Probe
from shouldread.meter import SETTINGS, Reading
from shouldread.quantities import say
from shouldread.views.ranks import alike, group_rows, left, notes, unlikely
from shouldread.views.taken import taken_rows
from shouldread.views.words import CAUTIONS, State

COLD = ("ohms", "diode")
MOST_OTHERS = 4


@dataclass(frozen=True, slots=True)
class Look:
    """What is in view: setting, state and condition of the readings, and the meter that takes them."""

    setting: str = "volts"
    state: str = ""
    condition: str = ""
    meter: str = "handheld"


@dataclass(frozen=True, slots=True)
class StageFacts:
    """Everything the screen is made of; nothing of it is computed here. No ``diagnosis`` yet: it is being thought of."""

    circuit: Circuit
    expectation: Expectation
    diagnosis: Diagnosis | None = None
    readings: Sequence[Reading] = ()
    unused: Sequence[str] = ()
    look: Look = field(default_factory=Look)
    meters: Sequence[str] = ()
    revision: int = 0


def stage_state(facts: StageFacts, ahead: State | None = None) -> State:
    """The whole screen for the page and for the saved output; with ``ahead`` the next probe is not asked for anew."""
    diagnosis = facts.diagnosis
    points = [_point(place, facts) for place in places_of(facts.circuit, facts.look.setting)]
    if diagnosis is None:
        unread = stage_unread(facts.circuit, facts.look, facts.meters)
        return {**unread, "points": points, "left": "Working out the suspects. Type away: everything is kept."}
    groups = group_rows(diagnosis)
    listed = [name for group in groups if group["rank"] != "unlikely" for name in names_of(group)]
    return {
        **_frame(facts.circuit, facts.look, facts.meters),
        "points": points,
        "taken": taken_rows(diagnosis),
        "groups": groups,
        "left": left(diagnosis),
        "alike": alike(diagnosis),
        "unlikely": unlikely(diagnosis),
        "notes": [*notes(diagnosis), *facts.unused],
        "faults": listed or list(facts.circuit.faults),
        **(ahead_state(diagnosis) if ahead is None else ahead),
    }


def ahead_state(diagnosis: Diagnosis) -> State:
    """The next probe, others that would tell, or why there is none: the longest of all thoughts."""
    probes = list(diagnosis.next_probes)
    return {
        "next": next_row(diagnosis.next_probe) if diagnosis.next_probe is not None else None,
        "stop": diagnosis.stop_reason or "",
        "others": [f"{_placed(p)}: {p.why}" for p in probes[1 : 1 + MOST_OTHERS]],
    }


def stage_unread(circuit: Circuit, look: Look, meters: Sequence[str]) -> State:
    """The screen before anything is worked out: readings can be typed at once."""
    blank = {"should": "…", "typical": "…", "span": "", "short": "", "read": "", "verdict": ""}
    points = [
        {"key": key_of(place, look), "place": place, "about": _about(circuit, place), **blank}
        for place in places_of(circuit, look.setting)
    ]
    return {
        **_frame(circuit, look, meters),
        "points": points,
        "taken": [],
        "alike": "",
        "groups": [],
        "left": "Working out what every point should read. Type away: everything is kept.",
        "unlikely": "",
        "notes": [],
        "next": None,
        "stop": "",
        "others": [],
        "faults": [],
    }


def _frame(circuit: Circuit, look: Look, meters: Sequence[str]) -> State:
    return {
        "title": circuit.title,
        "about": circuit.about,
        "settings": list(SETTINGS),
        "setting": look.setting,
        "states": states_for(circuit, look.setting),
        "state": look.state,
        "condition": look.condition,
        "meters": list(meters),
        "meter": look.meter,
        "caution": "; ".join([*circuit_cautions(circuit), CAUTIONS[look.setting]]),
        "basis": basis(circuit, look),
    }


def basis(circuit: Circuit, look: Look) -> str:
    """What the expected values rest on: as long as it is the same, what a fault would show is the same."""
    words = (circuit.text, look.setting, look.state, look.condition, look.meter)
    return hashlib.sha256("\n".join(words).encode()).hexdigest()[:16]


def circuit_cautions(circuit: Circuit) -> list[str]:
    """What the circuit's file warns of."""
    told = circuit.facts.get("cautions", ())
    return [str(row).rstrip(".") for row in told] if isinstance(told, list | tuple) else []


def names_of(group: State) -> list[str]:
    """The faults of a group row."""
    names = group["faults"]
    assert isinstance(names, list)
    return names


def places_of(circuit: Circuit, setting: str) -> tuple[str, ...]:
    """Where a setting is read: nodes, or for amps the supplies."""
    if setting == "amps":
        return tuple(name for name, part in circuit.netlist.items() if is_supply(part))
    return tuple(node for node in circuit.nodes if node != "0")


def states_for(circuit: Circuit, setting: str) -> list[str]:
    """The states in which a setting makes sense: cold for ohms and diode, fed ones otherwise."""
    return ["cold"] if setting in COLD else [state for state in circuit.states if state != "cold"]


def _point(place: str, facts: StageFacts) -> State:
    look = facts.look
    healthy = facts.expectation[place].healthy
    read = last_read(place, facts)
    verdict = facts.expectation.verdict(read) if read is not None else ""
    return {
        "key": key_of(place, look),
        "place": place,
        "about": _about(facts.circuit, place),
        "should": healthy.words,
        "typical": healthy.short,
        "span": span_of(healthy),
        "short": shown(read) if read is not None else short(healthy.typical, look.setting),
        "read": read.text if read is not None else "",
        "verdict": verdict,
    }


def key_of(place: str, look: Look) -> str:
    """One row of the page: its field keeps its text as long as nothing in view changes."""
    return f"{place}|{look.setting}|{look.state}|{look.condition}"


def _about(circuit: Circuit, place: str) -> str:
    return circuit.node_facts[place].about if place in circuit.node_facts else ""


def last_read(place: str, facts: StageFacts) -> Reading | None:
    """The last reading at a place under what is in view, or None."""
    hits = (r for r in reversed(facts.readings) if r.place == place and is_in_view(r, facts.look))
    return next(hits, None)


def is_in_view(reading: Reading, look: Look) -> bool:
    """Whether a reading was taken to ground in the setting, state and condition that are in view."""
    return (reading.to, reading.setting) == ("", look.setting) and (
        (reading.state or "") == look.state and " and ".join(reading.conditions) == look.condition
    )


def next_row(probe: Probe) -> State:
    """The next probe with both leads named."""
    red, _, black = probe.at.partition(" to ")
    return {
        "at": probe.at,
        "setting": probe.setting,
        "state": probe.state,
        "condition": "",
        "red": red,
        "black": black or "ground",
        "how": f"{probe.setting}, {probe.state}",
        "why": probe.why,
        "caution": probe.caution,
    }


def _placed(probe: Probe) -> str:
    return f"{probe.at} {probe.setting} @{probe.state}"


def column(facts: StageFacts, fault: str) -> State:
    """What every point would read under a fault, and which of them then leave their healthy band."""
    typical: dict[str, str] = {}
    span: dict[str, str] = {}
    brief: dict[str, str] = {}
    moved: list[str] = []
    for place in places_of(facts.circuit, facts.look.setting):
        healthy, under = facts.expectation[place].healthy, facts.expectation[place].under(fault)
        typical[place], span[place] = under.short, span_of(under)
        brief[place] = short(under.typical, facts.look.setting)
        if not healthy.low <= under.typical <= healthy.high:
            moved.append(place)
    return {"typical": typical, "span": span, "short": brief, "moved": moved}


def span_of(band: Band) -> str:
    """From where to where, and what is odd about it: the words of a band without its typical value."""
    return band.words.removeprefix(band.short).strip(" ,")


def short(value: float, setting: str) -> str:
    """A value in the few letters that a drawing has room for: ``2.3 V``, ``OL``, ``?`` for nothing steady."""
    return "?" if math.isnan(value) else say(value, SETTINGS[setting].unit, 3)


def shown(reading: Reading) -> str:
    """What the display showed, as short; words (``OL``, ``rising``) stay as they were typed."""
    return short(reading.value, reading.setting) if reading.is_number else reading.text[:8]
