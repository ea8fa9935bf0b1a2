"""Everything taken so far, in order: each reading with its verdict, each observation as it was said."""

from shouldread.diagnosis import Diagnosis
from shouldread.meter import Reading
from shouldread.views.words import State


def taken_rows(diagnosis: Diagnosis) -> list[State]:
    """One row a reading or observation: where and how, what was read, the verdict ("" for an observation)."""
    first = diagnosis.circuit.states[0].casefold()
    rows: list[State] = []
    for item in diagnosis.items:
        if isinstance(item, Reading):
            label = label_of(item, first)
            rows.append({"label": label, "read": item.text, "verdict": diagnosis.verdicts.get(label, "")})
        else:
            rows.append({"label": item.words, "read": "", "verdict": ""})
    return rows


def label_of(reading: Reading, first_state: str) -> str:
    """``EN``; with setting, state and conditions where these are not volts in the first state."""
    label = reading.at if reading.setting == "volts" else f"{reading.at} {reading.setting}"
    if reading.state.casefold() not in ("", "cold", first_state):
        label += f" @{reading.state}"
    return label + (f" with {' and '.join(reading.conditions)}" if reading.conditions else "")
