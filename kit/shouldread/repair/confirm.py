"""Confirm a suspicion before replacing: what to lift, bridge or read, and what it must then read."""

import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from shouldread.circuit import Circuit
from shouldread.diagnosis import Band, Expectation, expect
from shouldread.faults import Fault, read_fault
from shouldread.meter import Meter
from shouldread.parts import Part

MOST_PLACES = 6  # of one step: a technician reads two or three, not thirty
OFF = "Supply off and capacitors discharged before ohms or diode."


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do and what it reads: bands by place if the suspicion is right, and if it is wrong."""

    action: str
    if_right: Mapping[str, Band]
    if_wrong: Mapping[str, Band]
    caution: str
    condition: str = ""
    setting: str = "volts"

    def __str__(self) -> str:
        rows = [f"- {self.action}"] + ([f"    caution: {self.caution}"] if self.caution else [])
        for place, right in self.if_right.items():
            wrong = self.if_wrong.get(place)
            rows.append(f"    {place}: {right.words} if right" + (f", {wrong.words} if wrong" if wrong else ""))
        return "\n".join(rows)


@dataclass(frozen=True, slots=True)
class Confirmation:
    """How to confirm one fault. The top-level action is the decisive one (it lifts or bridges where it may)."""

    fault: str
    action: str
    if_right: Mapping[str, Band]
    if_wrong: Mapping[str, Band]
    why_failed: str
    caution: str
    steps: tuple[Step, ...]
    otherwise: tuple[str, ...]  # faults that look the same before this is done

    def __str__(self) -> str:
        rows = [f"Confirm: {self.fault}", *map(str, self.steps)]
        if self.otherwise:
            rows.append("Else it may be: " + ", ".join(self.otherwise[:6]))
        return "\n".join([*rows, f"Why did it fail? {self.why_failed}"])


def confirm(
    circuit: Circuit, fault: str | Fault, *, state: str | None = None, meter: Meter | str | None = None
) -> Confirmation:
    """What to do to confirm ``fault``, cheapest safe step first, with what each must read if right and if wrong.

    Bands are in SI units, as the meter shows them. Raises UnknownNameError for a fault that this circuit has not.

    >>> import shouldread as sr
    >>> sr.confirm(sr.load_circuit("two_feed_enable"), "L1 open").action
    'Limit the supply to 1 A, then bridge L1 with a short wire'
    """
    parts = [circuit.part(name) for name in circuit.parts]
    suspect = read_fault(str(fault), parts)[0]
    part = circuit.part(suspect.parts[0])
    base = expect(circuit, state=state, meter=meter)
    alike = _alike(base, circuit, suspect)
    action = _first(_table()["action"], part, suspect)
    steps = tuple(
        _step(circuit, part, suspect, alike, dict(row), state, meter)
        for row in action["step"]
        if _allowed(row, part, circuit)
    )
    decisive = next((s for s in reversed(steps) if s.condition), steps[-1])
    victim = _first(_table()["victim"], part, suspect, default={"say": "Ask what changed before it failed."})
    return Confirmation(
        str(suspect),
        decisive.action,
        decisive.if_right,
        decisive.if_wrong,
        str(victim["say"]),
        decisive.caution or OFF,
        steps,
        alike,
    )


@cache
def _table() -> Mapping[str, list[Mapping[str, Any]]]:
    return tomllib.loads((files("shouldread.repair") / "actions.toml").read_text(encoding="utf-8"))


def _first(
    rows: Iterable[Mapping[str, Any]], part: Part, fault: Fault, default: Mapping[str, Any] | None = None
) -> Mapping[str, Any]:
    for row in rows:
        if _fits(row, part, fault):
            return row
    assert default is not None, "the last action of the table fits everything"
    return default


def _fits(row: Mapping[str, Any], part: Part, fault: Fault) -> bool:
    kinds, details, modes = (row.get(k) for k in ("kinds", "details", "modes"))
    ohms = row.get("most_ohms")
    small = part.kind == "L" or part.value is None or not isinstance(ohms, float) or part.value.nominal <= ohms
    detail = str(part.facts.get("detail", ""))
    return (
        (kinds is None or part.kind in kinds)
        and (details is None or detail in details)
        and (modes is None or fault.mode in modes)
        and small
    )


def _allowed(row: Mapping[str, Any], part: Part, circuit: Circuit) -> bool:
    """Whether linking two nodes of a switched-off part stays below the step's amps, by the volts it would short."""
    return not ("{out}" in str(row.get("condition", "")) and not _output(part))


def _output(part: Part) -> str:
    """PART.pin of a block's output, or nothing."""
    if part.block is None:
        return ""
    return next((f"{part.name}.{n}" for n, f in part.block.pin_facts.items() if f.role == "out"), "")


def _step(
    circuit: Circuit,
    part: Part,
    fault: Fault,
    alike: tuple[str, ...],
    row: dict[str, Any],
    state: str | None,
    meter: Meter | str | None,
) -> Step:
    names = {"part": part.name, "out": _output(part), "a": part.nodes[0], "b": part.nodes[-1]}
    names |= {f"pin{i + 1}": f"{part.name}.{pin}" for i, pin in enumerate(part.pins)}
    if part.kind in "QM":
        names["b"] = part.nodes[2]
    say, condition, caution = (str(row.get(key, "")).format(**names) for key in ("say", "condition", "caution"))
    setting = str(row.get("setting", "volts"))
    if not (condition or "setting" in row or row.get("restored")):
        return Step(say, {}, {}, caution)
    board = circuit.with_condition(condition) if condition else circuit
    told = expect(board, state="cold" if setting in ("ohms", "diode") else state, setting=setting, meter=meter)
    if row.get("across") or "at" in row:
        places = [part.name if row.get("across") else str(row["at"]).format(**names)]
        wrong = {place: told[place].healthy for place in places}
    else:
        places = _telling(expect(circuit, state=state, meter=meter), circuit, str(fault))
        wrong = {place: _hull([told[place].under(f) for f in alike]) for place in places if alike} or {
            place: expect(circuit, state=state, meter=meter)[place].under(str(fault)) for place in places
        }
    right = {p: told[p].healthy if row.get("restored") else told[p].under(str(fault)) for p in places}
    return Step(say, right, wrong, caution or (OFF if setting in ("ohms", "diode") else ""), condition, setting)


def _telling(told: Expectation, circuit: Circuit, fault: str) -> list[str]:
    """The nodes that this fault moves most, in the order of the board."""
    moved = []
    for node in circuit.nodes:
        if node == "0":
            continue
        good, bad = told[node].healthy, told[node].under(fault)
        gap = abs(good.typical - bad.typical)
        if not math.isnan(gap) and not good.holds(bad.typical):
            moved.append((gap, node))
    top = {node for _, node in sorted(moved, reverse=True)[:MOST_PLACES]}
    return [node for node in circuit.nodes if node in top]


def _alike(told: Expectation, circuit: Circuit, fault: Fault) -> tuple[str, ...]:
    """Faults that read like this one at every node before anything is lifted or bridged.

    When there is none, those that show the same symptom: alike at the nodes that this fault moves.
    """
    telling = _telling(told, circuit, str(fault))
    if not telling:
        return ()
    rest = [node for node in circuit.nodes if node != "0" and node not in telling]
    alike = [f for f in circuit.faults if not f.startswith(fault.name)]
    loudest = sorted(telling, key=lambda at: -abs(told[at].healthy.typical - told[at].under(str(fault)).typical))
    for place in loudest:  # most faults part company at the first one
        alike = _same_at(told, place, str(fault), alike)
    loud = loudest[0]  # a fault that shows nothing there at its usual degree explains nothing
    alike = [f for f in alike if not told[loud].healthy.holds(told[loud].under(f).typical)]
    everywhere = alike
    for place in rest:
        everywhere = _same_at(told, place, str(fault), everywhere)
    return tuple(everywhere or alike)


def _same_at(told: Expectation, place: str, fault: str, others: list[str]) -> list[str]:
    """Those of the other faults whose band at a place overlaps this fault's."""
    if not others:
        return []
    own = told[place].under(fault)
    bands = ((other, told[place].under(other)) for other in others)
    return [other for other, band in bands if band.low <= own.high and own.low <= band.high]


def _hull(bands: list[Band]) -> Band:
    """One band over all: where a reading would lie if it were any of the others."""
    low = min((b.low for b in bands if not math.isnan(b.low)), default=math.nan)
    high = max((b.high for b in bands if not math.isnan(b.high)), default=math.nan)
    typical = sorted(b.typical for b in bands)[len(bands) // 2]
    return Band.of(low, typical, high, "volts")
