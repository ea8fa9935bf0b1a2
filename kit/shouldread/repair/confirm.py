"""Confirm a suspicion before replacing: what to lift, bridge or read, and what it must then read."""

import math
import tomllib
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from shouldread.circuit import Circuit
from shouldread.diagnosis import Band, Expectation, caution_rule, cautions, expect
from shouldread.faults import Fault, read_fault
from shouldread.meter import Meter
from shouldread.parts import Part

MOST_PLACES = 6  # of one step: a technician reads two or three, not thirty
ACTS: Mapping[str, str] = {"bridged": "bridge", "linked": "bridge", "lifted": "lift", "removed": "solder"}


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do and what it reads: bands by place if the suspicion is right, and if it is wrong."""

    action: str
    if_right: Mapping[str, Band]
    if_wrong: Mapping[str, Band]
    cautions: tuple[str, ...]
    condition: str = ""
    setting: str = "volts"

    def __str__(self) -> str:
        return self.told(())

    @property
    def caution(self) -> str:
        """What to mind, as one line."""
        return "; ".join(self.cautions)

    def told(self, said: Collection[str]) -> str:
        """The step as text, without the cautions that were said before."""
        fresh = [c for c in self.cautions if c not in said]
        rows = [f"- {self.action}"] + ([f"    caution: {'; '.join(fresh)}"] if fresh else [])
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
        rows, said = [f"Confirm: {self.fault}"], set[str]()
        for step in self.steps:
            rows.append(step.told(said))
            said.update(step.cautions)
        if self.otherwise:
            rows.append("Else it may be: " + ", ".join(self.otherwise[:6]))
        return "\n".join([*rows, f"Why did it fail? {self.why_failed}"])


def confirm(
    circuit: Circuit, fault: str | Fault, *, state: str | None = None, meter: Meter | str | None = None
) -> Confirmation:
    """What to do to confirm ``fault``, cheapest safe step first, with what each must read if right and if wrong.

    Without a ``state``: the first of the circuit's in which the fault shows. A step in another state than the
    circuit's first says so. Bands are in SI units, as the meter shows them. Raises UnknownNameError for a fault that this circuit has not.

    >>> import shouldread as sr
    >>> sr.confirm(sr.load_circuit("two_feed_enable"), "L1 open").action
    'Limit the supply to 1 A, then bridge L1 with a short wire'
    """
    parts = [circuit.part(name) for name in circuit.parts]
    suspect = read_fault(str(fault), parts)[0]
    part = circuit.part(suspect.parts[0])
    base, telling = _shown(circuit, str(suspect), state, meter)
    asking = _Asking(circuit, part, suspect, base, tuple(telling), _alike(base, circuit, suspect, telling))
    action = _first(_table()["action"], part, suspect)
    referred = any(c.refer for c in cautions(circuit))
    rows = [dict(row) for row in action["step"] if _allowed(row, part)]
    steps = tuple(asking.step(row) for row in rows if not (referred and _live(row)))
    acts = [s for s in reversed(steps) if s.condition]
    decisive = next((s for s in acts if _parts(s)), acts[0] if acts else steps[-1])
    victim = _first(_table()["victim"], part, suspect, default={"say": "Ask what changed before it failed."})
    return Confirmation(
        str(suspect),
        decisive.action,
        decisive.if_right,
        decisive.if_wrong,
        str(victim["say"]),
        decisive.caution,
        steps,
        asking.alike,
    )


def _parts(step: Step) -> bool:
    """Whether a step tells right from wrong anywhere."""
    return any(p in step.if_wrong and band.words != step.if_wrong[p].words for p, band in step.if_right.items())


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


def _allowed(row: Mapping[str, Any], part: Part) -> bool:
    """Whether a step fits: one on an output needs a part that has one."""
    return not ("{out}" in str(row.get("condition", "")) and not _output(part))


def _reads(row: Mapping[str, Any]) -> bool:
    """Whether something is read in a step; else it is a look only."""
    return bool(row.get("condition") or "setting" in row or row.get("restored"))


def _live(row: Mapping[str, Any]) -> bool:
    """Whether a step needs a fed board."""
    return _reads(row) and row.get("setting", "volts") not in ("ohms", "diode")


def _output(part: Part) -> str:
    """PART.pin of a block's output, or nothing."""
    if part.block is None:
        return ""
    return next((f"{part.name}.{n}" for n, f in part.block.pin_facts.items() if f.role == "out"), "")


@dataclass(frozen=True, slots=True)
class _Asking:
    """One fault to be confirmed: what it moves, and what looks like it."""

    circuit: Circuit
    part: Part
    fault: Fault
    base: Expectation
    telling: tuple[str, ...]
    alike: tuple[str, ...]

    def step(self, row: dict[str, Any]) -> Step:
        """A row of the table on this circuit."""
        part = self.part
        names = {"part": part.name, "out": _output(part), "a": part.nodes[0], "b": part.nodes[-1]}
        names |= {f"pin{i + 1}": f"{part.name}.{pin}" for i, pin in enumerate(part.pins)}
        if part.kind in "QM":
            names["b"] = part.nodes[2]
        say, condition = (str(row.get(key, "")).format(**names) for key in ("say", "condition"))
        own = caution_rule(row["caution"]).say if "caution" in row else ""
        if not _reads(row):
            return Step(say, {}, {}, (own,) if own else ())
        setting = str(row.get("setting", "volts"))
        mind = self._cautions(own, condition, setting, bool(row.get("restored")))
        told = self._told(condition, setting)
        if row.get("across") or "at" in row:
            places: tuple[str, ...] = (part.name if row.get("across") else str(row["at"]).format(**names),)
            wrong = {place: told[place].healthy for place in places}
        else:
            places = self.telling
            wrong = {
                place: _hull([told[place].under(f) for f in self.alike])
                if self.alike
                else self.base[place].under(str(self.fault))
                for place in places
            }
        if setting == "volts" and self.base.state != self.circuit.state(None).name:
            say = f"{say} (in the state {self.base.state.replace('_', ' ')})"
        right = {p: told[p].healthy if row.get("restored") else told[p].under(str(self.fault)) for p in places}
        return Step(say, right, wrong, mind, condition, setting)

    def _told(self, condition: str, setting: str) -> Expectation:
        """What the board should read under a condition."""
        if not condition and setting == self.base.setting:
            return self.base
        board = self.circuit.with_condition(condition) if condition else self.circuit
        state = "cold" if setting in ("ohms", "diode") else self.base.state
        return expect(board, state=state, setting=setting, meter=self.base.meter)

    def _cautions(self, own: str, condition: str, setting: str, restored: bool) -> tuple[str, ...]:
        """What to mind: by what is done to the board, by the setting, and what only this step needs."""
        acts = [ACTS[word] for word in condition.split() if word in ACTS] + (["power"] if restored else [])
        acts += [setting] if setting in ("ohms", "diode") or not acts else []
        at = (self.part.name, *self.part.nodes, *self._beside())
        told = [c for act in acts for c in cautions(self.circuit, act, at=at)]
        return tuple(dict.fromkeys([*filter(None, [own]), *(c.say for c in told)]))

    def _beside(self) -> tuple[str, ...]:
        """Parts that touch the nodes of the suspect, ground aside."""
        ends = set(self.part.nodes) - {"0"}
        return tuple(p.name for p in self.circuit.netlist.values() if ends & set(p.nodes))


def _shown(
    circuit: Circuit, fault: str, state: str | None, meter: Meter | str | None
) -> tuple[Expectation, list[str]]:
    """What should be read, and where the fault shows: in the state asked for, else in the first where it shows."""
    first: tuple[Expectation, list[str]] | None = None
    for name in circuit.states if state is None else (state,):
        base = expect(circuit, state=name, meter=meter)
        telling = _telling(base, circuit, fault)
        if telling:
            return base, telling
        first = first or (base, telling)
    assert first is not None, "every circuit has a state"
    return first


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


def _alike(told: Expectation, circuit: Circuit, fault: Fault, telling: list[str]) -> tuple[str, ...]:
    """Faults that read like this one at every node before anything is lifted or bridged.

    When there is none, those that show the same symptom: alike at the nodes that this fault moves.
    """
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
