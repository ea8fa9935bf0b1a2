"""The practice screen as plain data: what was predicted, what the meter showed, the log; nothing of the answer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from shouldread.diagnosis import Expectation, expect
from shouldread.errors import KitError
from shouldread.meter import SETTINGS
from shouldread.practice import Act, Exercise
from shouldread.views.stage import circuit_cautions, places_of, states_for
from shouldread.views.words import CAUTIONS, State

Key = tuple[str, str, str]  # place, setting, state


@dataclass(frozen=True, slots=True)
class View:
    """What is in view, what was predicted and what was read so far, by place, setting and state."""

    setting: str = "volts"
    state: str = ""
    predicted: Mapping[Key, tuple[str, bool]] = field(default_factory=dict)
    read: Mapping[Key, str] = field(default_factory=dict)

    def with_predicted(self, key: Key, text: str, right: bool) -> "View":
        """One more prediction."""
        return replace(self, predicted={**self.predicted, key: (text, right)})

    def with_read(self, key: Key, text: str) -> "View":
        """One more reading."""
        return replace(self, read={**self.read, key: text})


class Bands:
    """Healthy bands of the exercise's circuit, worked out when they are first shown."""

    def __init__(self, task: Exercise) -> None:
        self._task = task
        self._told: dict[tuple[str, str], Expectation] = {}

    def of(self, setting: str, state: str) -> Expectation:
        """What every point should read."""
        key = (setting, state)
        if key not in self._told:
            self._told[key] = expect(self._task.circuit, state=state or None, setting=setting, meter=self._task.meter)
        return self._told[key]

    def verdict(self, key: Key, text: str) -> str:
        """The verdict on what the meter showed; nothing where it shows no value."""
        place, setting, state = key
        try:
            return self.of(setting, state).verdict(f"{place} {setting} {text} @{state}")
        except KitError:
            return ""


def task_state(task: Exercise, view: View, bands: Bands, back: Sequence[str]) -> State:
    """The whole screen. ``back``: the lines of looking back, once there are any."""
    right, made = task.predictions
    circuit = task.circuit
    return {
        "title": circuit.title,
        "about": circuit.about,
        "brief": task.brief.removeprefix(f"{circuit.title}. "),
        "settings": [s for s in SETTINGS if places_of(circuit, s)],
        "setting": view.setting,
        "states": states_for(circuit, view.setting),
        "state": view.state,
        "caution": "; ".join([*circuit_cautions(circuit), CAUTIONS[view.setting]]),
        "points": [_point(place, task, view, bands) for place in places_of(circuit, view.setting)],
        "log": [_row(act) for act in task.log],
        "toll": str(task.toll),
        "predictions": f"{right} of {made} predictions right" if made else "nothing predicted yet",
        "done_to": list(task.conditions),
        "faults": list(circuit.faults),
        "real": task.real,
        "done": task.done,
        "back": list(back),
    }


def first_view(task: Exercise) -> View:
    """Volts in the first state."""
    return View("volts", states_for(task.circuit, "volts")[0])


def turned(task: Exercise, view: View, setting: str, state: str) -> View:
    """The view in another setting or state; the state goes with the setting."""
    now = setting if setting in SETTINGS else view.setting
    fed = states_for(task.circuit, now)
    return replace(view, setting=now, state=state if state in fed else fed[0])


def _point(place: str, task: Exercise, view: View, bands: Bands) -> State:
    key = (place, view.setting, view.state)
    said, right = view.predicted.get(key, ("", False))
    read = view.read.get(key, "")
    band = bands.of(view.setting, view.state)[place].healthy if said else None
    facts = task.circuit.node_facts.get(place)
    return {
        "key": "|".join(key),
        "place": place,
        "about": facts.about if facts is not None else "",
        "predicted": said,
        "right": right,
        "should": band.words if band is not None else "predict it first",
        "healthy": band.short if band is not None else "",
        "span": band.words.removeprefix(band.short).strip(" ,") if band is not None else "",
        "read": read,
        "short": read,
        "verdict": bands.verdict(key, read) if said and read else "",
    }


def _row(act: Act) -> State:
    cost = str(act.toll) if act.toll.minutes else ""
    return {"said": act.said, "answer": act.answer, "toll": cost, "stopped": act.stopped}
