"""The screens of one bench: what is in view, and every screen as plain data when something changed."""

import itertools
import threading
from collections.abc import Callable, Iterable, Iterator

from shouldread.circuit import Circuit
from shouldread.diagnosis import Diagnosis, Expectation, RailWalk, walk_rails
from shouldread.drawing import Drawing
from shouldread.errors import RequestError, UnknownNameError
from shouldread.meter import SETTINGS, Reading, meter, meter_names
from shouldread.repair import confirm
from shouldread.views.confirmation import confirmation_state
from shouldread.views.doorway import DoorwayFacts, doorway_state
from shouldread.views.kept import Item, Kept
from shouldread.views.sheet_text import rail_facts
from shouldread.views.stage import (
    Look,
    StageFacts,
    basis,
    column,
    is_in_view,
    key_of,
    last_read,
    stage_state,
    stage_unread,
    states_for,
)
from shouldread.views.thinking import Thinking, each_within
from shouldread.views.trace_entry import trace_state
from shouldread.views.tracing import Tracing
from shouldread.views.what_if import values_of, what_if
from shouldread.views.words import State

RAIL_SETTINGS = ("volts", "ohms", "diode")
EMPTY_STAGE: State = {
    **dict.fromkeys(
        ("title", "about", "setting", "state", "condition", "meter", "caution", "left", "alike", "stop", "basis"), ""
    ),
    **{
        name: []
        for name in (
            "values",
            "settings",
            "states",
            "meters",
            "points",
            "taken",
            "groups",
            "notes",
            "others",
            "faults",
        )
    },
    "next": None,
    "unlikely": "",
}


class Screens:
    """What is in view, and the states of all screens. One computation at a time; repeats cost nothing."""

    def __init__(self, kept: Kept, tracing: Tracing, meter_name: str) -> None:
        self._kept = kept
        self._tracing = tracing
        self._revisions = itertools.count(1)
        self._lock = threading.RLock()
        self._mind: Thinking | None = None
        self.look = Look(meter=meter_name)
        self.rails_in = "volts"
        self.revision = 0
        self._shown: Diagnosis | None = None  # the last diagnosis of which everything was shown, and its next probe
        self._ahead: State = {}
        self.settle()

    # -- what is in view -----------------------------------------------------------------------------
    def show(self, setting: str, state: str, condition: str) -> Look:
        """Put a setting, state and condition in view; a state that does not go with the setting gives way."""
        if setting not in SETTINGS:
            raise UnknownNameError("setting", setting, SETTINGS)
        self.look = self._settled(Look(setting, state, condition, self.look.meter))
        return self.look

    def settle(self) -> None:
        """Begin anew with the circuit that is on the bench now, if any."""
        if self._kept.circuit is not None:
            self.look = self._settled(Look(meter=self.look.meter))

    def _settled(self, look: Look) -> Look:
        circuit = self._kept.circuit
        if circuit is None:
            raise RequestError("there is no circuit on the bench yet: trace a stage, or open one from the shelf")
        for name in [part.strip() for part in look.condition.split(" and ") if part.strip()]:
            circuit.with_condition(name)
        states = states_for(circuit, look.setting)
        state = look.state if look.state in states else states[0]
        return Look(look.setting, state, look.condition, look.meter)

    def show_rails_in(self, setting: str) -> None:
        """Put the rails in volts, ohms or diode in view."""
        if setting not in RAIL_SETTINGS:
            raise UnknownNameError("setting of the rails", setting, RAIL_SETTINGS)
        self.rails_in = setting

    def follow(self, settings: Iterable[str]) -> None:
        """Put the rails into view in the setting of what was just read, so that it is seen."""
        read = [setting for setting in settings if setting in RAIL_SETTINGS]
        if read and self.rails_in not in read:
            self.rails_in = read[-1]

    def take_meter(self, name: str) -> None:
        """Another meter in hand: every band is asked anew."""
        self.look = Look(self.look.setting, self.look.state, self.look.condition, meter(name).name)

    # -- the screens ---------------------------------------------------------------------------------
    def trace(self, draw: Callable[[Circuit | None], Drawing | None]) -> State:
        """The stage that is being traced; waits for no other screen."""
        trace, last = self._tracing.trace(), self._tracing.last
        drawing = draw(trace.circuit)
        self.revision = next(self._revisions)
        return trace_state(trace, last, self.revision, drawing)

    def in_turn(self, busy: Callable[[str], None] = lambda words: None) -> Iterator[dict[str, State]]:
        """Every screen as soon as there is more to show: bands, then suspects, then the next probe.

        ``busy`` is told what is being worked out. Raises StoppedError where that was stopped.
        """
        busy("working out what every point should read")
        if (early := self.early_states()) is not None:
            yield early
        else:
            busy("weighing suspects")
            if (weighed := self._weighed_states()) is not None:
                yield weighed
        busy("sorting suspects, choosing a probe")
        yield self.states()

    def think_ahead(self) -> Iterator[None]:
        """What the next readings will ask for, a step at a time; other screens wait for no more than a step."""
        return each_within(self._lock, self._shown.think_ahead()) if self._shown is not None else iter(())

    def _weighed_states(self) -> dict[str, State] | None:
        """Every screen with suspects weighed anew, and the next probe still as it was; None where nothing changed."""
        with self._lock:
            facts = self.facts()
            if facts is None or facts.diagnosis is self._shown or not self._ahead:
                return None
            self.revision = next(self._revisions)
            return self._with({**stage_state(facts, self._ahead), "values": values_of(facts.circuit)})

    def states(self) -> dict[str, State]:
        """Every screen as it stands now."""
        with self._lock:
            self.revision = next(self._revisions)
            return self._with(self.stage())

    def early_states(self) -> dict[str, State] | None:
        """Every screen with what every point should read, while no suspect was ever weighed; None later."""
        with self._lock:
            if self._mind is not None and self._mind.has_begun:
                return None
            facts = self.facts(expected_only=True)
            if facts is None:
                return None
            self.revision = next(self._revisions)
            return self._with({**stage_state(facts), "values": values_of(facts.circuit)})

    def first_states(self) -> dict[str, State]:
        """Every screen at once, the stage without what has to be worked out first."""
        circuit = self._kept.circuit
        if circuit is None:
            return self._with(EMPTY_STAGE)
        return self._with({**stage_unread(circuit, self.look, meter_names()), "values": values_of(circuit)})

    def _with(self, stage: State) -> dict[str, State]:
        return {
            "head": self._head(),
            "doorway": self.doorway(),
            "stage": {**stage, "revision": self.revision},
            "trace": trace_state(self._tracing.trace(), self._tracing.last, self.revision),
        }

    def _head(self) -> State:
        kept, circuit = self._kept, self._kept.circuit
        name = kept.board or (circuit.title if circuit is not None else "") or "New board"
        return {
            "key": f"{kept.book.path.name}/{kept.name}",
            "revision": self.revision,
            "title": f"{name} · case {kept.name}",
            "has_circuit": circuit is not None,
            "opens": "stage" if circuit is not None else "rails",
            "book": kept.book.path.name,
            "case": kept.name,
            "empty": kept.is_empty,
            "cases": [{"name": name, "said": f"{name} {board}".strip()} for name, board in kept.others()],
            "last": kept.last_read.uid if kept.last_read is not None else "",
        }

    def walk(self) -> RailWalk:
        """The walk along the rails as read so far."""
        kept, supply = self._kept, dict(self._kept.last("supply"))
        fed = str(supply.pop("fed", "") or "") or None
        return walk_rails(kept.sheet, kept.rail_items(), supply=supply, fed=fed, setting=self.rails_in)

    def doorway(self) -> State:
        """The rails screen."""
        kept, supply = self._kept, self._kept.last("supply")
        typed = {key: _figure(supply.get(key)) for key in ("volts", "limit", "amps")}
        facts = DoorwayFacts(
            kept.board,
            kept.symptom,
            self.rails_in,
            {**typed, "limiting": bool(supply.get("limiting")), "fed": str(supply.get("fed", "") or "")},
            rail_facts(kept.text("sheet")),
            self.revision,
        )
        return doorway_state(facts, self.walk())

    def facts(self, expected_only: bool = False) -> StageFacts | None:
        """What the stage screen is made of, None without a circuit."""
        circuit = self._kept.circuit
        if circuit is None:
            return None
        if self._mind is None or self._mind.circuit is not circuit:
            self._mind, self._ahead = Thinking(circuit, self._kept.book), {}
            self.look = self._settled(self.look)
        mind, look, items = self._mind, self.look, self._kept.stage_items()
        return StageFacts(
            circuit,
            mind.expectation(look),
            None if expected_only else mind.diagnosis(items, look.meter),
            [item for item in items if isinstance(item, Reading)],
            mind.unused,
            look,
            meter_names(),
            self.revision,
        )

    def stage(self) -> State:
        """The stage screen."""
        facts = self.facts()
        if facts is None:
            return EMPTY_STAGE
        state = {**stage_state(facts), "values": values_of(facts.circuit)}
        self._shown, self._ahead = facts.diagnosis, {key: state[key] for key in ("next", "stop", "others")}
        return state

    def confirmation(self, fault: str, state: str) -> State:
        """How a fault is confirmed before anything is replaced."""
        circuit = self._kept.circuit
        if circuit is None:
            raise RequestError("there is no circuit on the bench yet")
        fed = state if state in circuit.states else circuit.states[0]
        facts = self.facts() if self._kept.stage_items() else None
        read = facts.diagnosis if facts is not None else None
        return confirmation_state(confirm(circuit, fault, read, state=fed, meter=self.look.meter))

    def verdicts(self, items: Iterable[Item]) -> dict[str, str]:
        """Verdicts of readings in view, by the key of their row, before anything is thought about: bands are known."""
        look, mind = self.look, self._mind
        expectation = mind.known(look) if mind is not None else None
        if expectation is None:
            return {}
        read = [item for item in items if isinstance(item, Reading) and is_in_view(item, look)]
        return {key_of(item.place, look): expectation.verdict(item) for item in read}

    def road(self) -> tuple[tuple[Item, Diagnosis], ...]:
        """Every reading on the stage with what stood after it."""
        with self._lock:
            self.facts()
            steps = self._mind.road if self._mind is not None else ()
        if not steps:
            raise RequestError("nothing was read on a stage yet: EN 0.02")
        return steps

    def point(self, place: str) -> tuple[Expectation, Reading | None]:
        """What is expected where a point is in view, and the last reading there."""
        facts = self._expected()
        return facts.expectation, last_read(place, facts)

    def what_if(self, part: str, factor: str) -> State:
        """What every point in view would read with a part at so many times its value."""
        return what_if(self._expected(), part, factor)

    def column(self, fault: str) -> State:
        """What every point in view would read under a fault."""
        facts = self._expected()
        return {"fault": fault, "basis": basis(facts.circuit, facts.look), **column(facts, fault)}

    def _expected(self) -> StageFacts:
        with self._lock:
            facts = self.facts(expected_only=True)
        if facts is None:
            raise RequestError("there is no circuit on the bench yet")
        return facts


def _figure(value: object) -> str:
    return f"{value:g}" if isinstance(value, int | float) and not isinstance(value, bool) else ""
