"""The desk: one case under work. What the page says is written down first; what it means comes after."""

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from shouldread.casebook import Case, Casebook
from shouldread.circuit import Circuit
from shouldread.errors import KitError, ReadingError, RequestError
from shouldread.meter import Reading, read_readings
from shouldread.quantities import si_number
from shouldread.views.kept import Item, Kept
from shouldread.views.messages import Message
from shouldread.views.proof import ProofSheet
from shouldread.views.screens import Screens
from shouldread.views.sheet_text import with_rail
from shouldread.views.stage import COLD
from shouldread.views.tracing import Tracing
from shouldread.views.words import State

QUESTIONS = frozenset(
    {"suppose", "confirm", "what if", "proof"}
)  # they may take a while, and nothing else waits for them


@dataclass(frozen=True, slots=True)
class Answer:
    """What the page hears: taken or not, and the sentence. ``told``: what was asked for, as plain data."""

    ok: bool
    said: str = ""
    told: State | None = None

    def as_message(self, uid: str, revision: int) -> State:
        """For the wire. Screens of a later ``revision`` know what the message said."""
        message: State = {"re": uid, "ok": self.ok, "said": self.said, "revision": revision}
        return message if self.told is None else {**message, "told": self.told}


class Desk:
    """A case, what is in view, and the verbs of the page. Safe from several threads.

    ``do`` writes to the casebook and returns; ``states`` computes every screen anew when anything changed.
    """

    def __init__(self, book: Casebook, case: Case | None, circuit: Circuit | None, meter: str) -> None:
        self.kept = Kept(book, case, circuit)
        self.tracing = Tracing(self.kept)
        self.screens = Screens(self.kept, self.tracing, meter)
        self.proof = ProofSheet(self.kept, lambda: self.screens.look.meter)
        self._lock = threading.RLock()
        self._verbs: Mapping[str, Callable[[Message], Answer]] = {
            "read": self._read,
            "undo": self._undo,
            "case": self._case,
            "board": self._board,
            "symptom": self._symptom,
            "supply": self._supply,
            "rail": self._rail,
            "rails in": self._rails_in,
            "look": self._look,
            "suppose": self._suppose,
            "confirm": self._confirm,
            "what if": self._what_if,
            "meter": self._meter,
            "proof": lambda message: Answer(True, "", self.proof.state()),
            **dict.fromkeys(self.proof.verbs, self._tested),
            **dict.fromkeys(self.tracing.verbs, self._traced),
        }

    def do(self, message: Message) -> Answer:
        """Carry out one message. What it says is on the disk when this returns; trouble comes as a sentence."""
        try:
            if message.verb in QUESTIONS:
                return self._verbs[message.verb](message)
            with self._lock:
                return self._verbs[message.verb](message)
        except KitError as trouble:
            return Answer(False, str(trouble))

    def judged(self, message: Message) -> dict[str, str]:
        """Verdicts of what a message reads in view, by the key of their row, before it is written down."""
        if message.verb != "read" or not self._is_on_stage(message):
            return {}
        try:
            return self.screens.verdicts(self._items(message))
        except KitError:  # ``do`` says what is wrong with it
            return {}

    # -- readings ------------------------------------------------------------------------------------
    def _read(self, message: Message) -> Answer:
        text, on_stage, items = self._composed(message), self._is_on_stage(message), self._items(message)
        self.kept.case.read(text, uid=message.id, circuit=self.kept.circuit if on_stage else None, rails=not on_stage)
        if not on_stage:
            self.screens.follow(item.setting for item in items if isinstance(item, Reading))
        return Answer(True, "; ".join(item.words for item in items))

    def _is_on_stage(self, message: Message) -> bool:
        return message.get("screen") == "stage" and self.kept.circuit is not None

    def _items(self, message: Message) -> tuple[Item, ...]:
        circuit = self.kept.circuit if self._is_on_stage(message) else None
        return tuple(read_readings(self._composed(message), circuit=circuit, meter=self.screens.look.meter))

    def _composed(self, message: Message) -> str:
        """A reading as one line of text: place, setting, value, state, condition."""
        if not message.text:
            raise ReadingError("nothing was typed: a place and what it reads, such as EN 0.02")
        place = message.get("at")
        on_rails = message.get("screen") != "stage"
        setting = message.get("setting") or (self.screens.rails_in if on_rails else "")
        if not place:
            text = self.kept.sheet.in_its_names(message.text) if on_rails else message.text
            return f"{setting} cold:\n{text}" if on_rails and setting in COLD else text
        words = [place, setting if setting != "volts" else "", message.text]
        if state := message.get("state"):
            words.append(f"@{state}")
        if condition := message.get("condition"):
            words.append(f"with {condition}")
        return " ".join(word for word in words if word)

    def _undo(self, message: Message) -> Answer:
        last = self.kept.last_read
        named = message.text or (last.uid if last is not None else "")
        if not named:
            raise RequestError("nothing was read yet, so there is nothing to take back")
        if all(event.uid != named for event in self.kept.standing()):
            return Answer(True, "taken back already")
        taken = self.kept.case.undo(named)
        return Answer(True, f"taken back: {taken.body.get('text', '')}")

    def _case(self, message: Message) -> Answer:
        """Go on with another case; what was typed so far stays in its own."""
        case = self.kept.book.case(message.text)
        self.kept.go_on(case)
        self.screens.settle()
        return Answer(True, f"going on with {case.name}")

    # -- the doorway ---------------------------------------------------------------------------------
    def _board(self, message: Message) -> Answer:
        self.kept.case.mark(message.text, uid=message.id)
        return Answer(True, f"board {message.text}")

    def _symptom(self, message: Message) -> Answer:
        self.kept.case.symptom(message.text, uid=message.id)
        return Answer(True, "symptom noted")

    def _supply(self, message: Message) -> Answer:
        facts: dict[str, object] = {}
        for name, unit in (("volts", "V"), ("limit", "A"), ("amps", "A")):
            if typed := message.get(name):
                facts[name] = _number(typed, unit, name)
        facts |= {"limiting": message.get("limiting") == "yes", "fed": message.get("fed")}
        self.kept.case.supply(uid=message.id, **facts)
        return Answer(True, "supply noted")

    def _rail(self, message: Message) -> Answer:
        sheet = with_rail(self.kept.text("sheet"), message.get("rail"), message.text)
        self.kept.case.sheet(sheet, uid=message.id)
        return Answer(True, f"{message.get('rail')} {message.text}".strip())

    def _rails_in(self, message: Message) -> Answer:
        self.screens.show_rails_in(message.get("setting"))
        return Answer(True, f"rails in {message.get('setting')}")

    # -- the stage -----------------------------------------------------------------------------------
    def _look(self, message: Message) -> Answer:
        look = self.screens.show(message.get("setting"), message.get("state"), message.get("condition"))
        return Answer(True, ", ".join(part for part in (look.setting, look.state, look.condition) if part))

    def _suppose(self, message: Message) -> Answer:
        return Answer(True, "", self.screens.column(message.get("fault")))

    def _confirm(self, message: Message) -> Answer:
        return Answer(True, "", self.screens.confirmation(message.get("fault"), message.get("state")))

    def _traced(self, message: Message) -> Answer:
        said = self.tracing.verbs[message.verb](message)
        if message.verb == "use":
            self.screens.settle()
        return Answer(True, said)

    def _tested(self, message: Message) -> Answer:
        return Answer(True, self.proof.verbs[message.verb](message))

    def _what_if(self, message: Message) -> Answer:
        return Answer(True, "", self.screens.what_if(message.get("part"), message.text))

    def _meter(self, message: Message) -> Answer:
        self.screens.take_meter(message.text)
        return Answer(True, f"meter: {message.text}")


def _number(typed: str, unit: str, name: str) -> float:
    value, said = si_number(typed)
    if said not in ("", unit):
        raise RequestError(f"the supply's {name} is in {unit}, not {said}", value=typed)
    return value
