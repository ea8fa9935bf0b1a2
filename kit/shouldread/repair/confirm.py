"""Confirm a suspicion before replacing: what to lift, bridge or read, and what it must then read."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from shouldread.circuit import Circuit
from shouldread.diagnosis import Band, Diagnosis, cautions, diagnose
from shouldread.faults import Fault, read_fault
from shouldread.meter import Meter, Observation, Reading
from shouldread.meter import meter as profile_of
from shouldread.parts import Part
from shouldread.repair.confirm_alike import alike, in_play, shown
from shouldread.repair.confirm_steps import Asking, Step, is_live, is_read, output

MOST_OTHERS = 6  # named in the text


@dataclass(frozen=True, slots=True)
class Confirmation:
    """How to confirm one fault. The top-level action is the decisive one (it lifts or bridges where it may).

    ``otherwise``: faults that look the same before this is done. ``so_far``: what the readings given leave of it.
    """

    fault: str
    action: str
    if_right: Mapping[str, Band]
    if_wrong: Mapping[str, Band]
    why_failed: str
    caution: str
    steps: tuple[Step, ...]
    otherwise: tuple[str, ...]
    so_far: str = ""

    @property
    def tells(self) -> bool:
        """Whether any step reads differently if it is this fault and if it is not."""
        return any(step.tells for step in self.steps)

    def __str__(self) -> str:
        rows, said = [f"Confirm: {self.fault}", *filter(None, [self.so_far])], set[str]()
        for step in self.steps:
            rows.append(step.told(said))
            said.update(step.cautions)
        if self.otherwise:
            rows.append("Else it may be: " + ", ".join(self.otherwise[:MOST_OTHERS]))
        return "\n".join([*rows, f"Why did it fail? {self.why_failed}"])


def confirm(
    circuit: Circuit,
    fault: str | Fault,
    readings: str | Iterable[Reading | Observation] | Diagnosis | None = None,
    *,
    state: str | None = None,
    meter: Meter | str | None = None,
) -> Confirmation:
    """What to do to confirm ``fault``, cheapest safe step first, with what each must read if right and if wrong.

    ``readings`` so far, as for ``diagnose`` (or its answer): what else may be is then what they leave. Without a ``state``: the first
    of the circuit's in which the fault shows. A step in another state than the circuit's first says so. Bands are in
    SI units, as the meter shows them. A step that would read the same either way is left out; where no meter can
    tell, the last step says so and which other kind of test does. Raises UnknownNameError for a fault that this
    circuit has not, ReadingError for readings that cannot be taken.

    >>> import shouldread as sr
    >>> sr.confirm(sr.load_circuit("two_feed_enable"), "L1 open").action
    'Limit the supply to 1 A, then bridge L1 with a short wire'
    """
    suspect = read_fault(str(fault), [circuit.part(name) for name in circuit.parts])[0]
    part, profile = circuit.part(suspect.parts[0]), profile_of(meter)
    base, telling = shown(circuit, str(suspect), state, profile)
    others, so_far = alike(base, circuit, suspect, telling), ""
    if readings is not None:
        read = readings if isinstance(readings, Diagnosis) else diagnose(circuit, readings, meter=profile)
        others, so_far = in_play(read, suspect)
    asking = Asking(circuit, part, suspect, profile, base, tuple(telling), others)
    steps = _steps(asking)
    decisive = _decisive(steps)
    victim = _first(_table()["victim"], part, suspect, default={"say": "Ask what changed before it failed."})
    return Confirmation(
        str(suspect),
        decisive.action,
        decisive.if_right,
        decisive.if_wrong,
        str(victim["say"]),
        decisive.caution,
        steps,
        others,
        so_far,
    )


def _steps(asking: Asking) -> tuple[Step, ...]:
    """The rows that fit, in their order, without those that read the same either way."""
    part, fault = asking.part, asking.fault
    referred = any(c.refer for c in cautions(asking.circuit))
    found: list[Step] = []
    for row in _first(_table()["action"], part, fault)["step"]:
        spared = row.get("spare") and any(step.clarity > 1 for step in found)
        if spared or not _allowed(row, part, fault) or (referred and is_live(row)):
            continue
        step = asking.step(row)
        if step is not None and (step.tells or row.get("always") or not is_read(row)):
            found.append(step)
    if not any(step.tells for step in found):
        elsewhere = _first(_table()["elsewhere"], part, fault)
        found.append(Step(str(elsewhere["say"]).format(part=part.name)))
    return tuple(found)


def _decisive(steps: tuple[Step, ...]) -> Step:
    """The last step that tells by what is done to the board, in volts where there is one; else the last that tells."""
    if not any(step.tells for step in steps):
        return steps[-1]
    telling = [step for step in steps if step.tells]
    return max(telling[::-1], key=lambda s: (s.clarity > 1, s.acts, s.setting == "volts"))


@cache
def _table() -> Mapping[str, list[Mapping[str, Any]]]:
    return tomllib.loads((files("shouldread.repair") / "actions.toml").read_text(encoding="utf-8"))


def _first(
    rows: Iterable[Mapping[str, Any]], part: Part, fault: Fault, default: Mapping[str, Any] | None = None
) -> Mapping[str, Any]:
    for row in rows:
        if _fits(row, part, fault):
            return row
    assert default is not None, "the last row of the table fits everything"
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


def _allowed(row: Mapping[str, Any], part: Part, fault: Fault) -> bool:
    """Whether a step fits the way it failed, and the part: one on an output needs a part that has one."""
    unfit = "{out}" in f"{row.get('condition', '')}{row.get('at', '')}" and not output(part)
    return not unfit and _fits(row, part, fault)
