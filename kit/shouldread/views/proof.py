"""The proof on the bench: the hand-over sheet as plain data, each result kept in the case as it is typed."""

import math
import threading
from collections.abc import Callable, Mapping

from shouldread.casebook import Case, board_of, filled, replaced_in
from shouldread.circuit import Circuit, Rails
from shouldread.errors import RequestError
from shouldread.quantities import say
from shouldread.repair import Check, Proof, prove
from shouldread.views.kept import Kept
from shouldread.views.messages import Message
from shouldread.views.words import State

DEGREES = " °C"
NOTHING = "nothing to prove yet: enter the rails, or trace a stage"
HINTS: Mapping[str, str] = {  # what a line takes, by its key
    "power-up": "not limiting",
    "function": "passed",
    "order": "EN5 5V 3V3",
    "stress": "30 min",
    "starts cold": "5 of 5",
    "starts warm": "5 of 5",
}


class ProofSheet:
    """The sheet of the case on the bench. What it should give is worked out once for a stage, a part and a meter."""

    def __init__(self, kept: Kept, meter: Callable[[], str]) -> None:
        self._kept, self._meter = kept, meter
        self._lock = threading.Lock()
        self._known: tuple[object, Proof] | None = None
        self.verbs: Mapping[str, Callable[[Message], str]] = {
            "test": self._test,
            "cause": self._cause,
            "why": self._why,
            "confirmed": self._confirmed,
            "proved": self._proved,
        }

    def state(self) -> State:
        """The screen: every line with what it should give and gave. Raises RequestError where nothing is to be proved."""
        sheet = self._sheet()
        stages = dict.fromkeys(check.stage for check in sheet.checks)
        cause = self._kept.last("cause")
        return {
            "title": sheet.title,
            "cautions": [str(caution) for caution in sheet.cautions],
            "stages": [{"name": s, "lines": [_line(c) for c in sheet.checks if c.stage == s]} for s in stages],
            "unproven": list(sheet.unproven),
            "passed": sheet.passed,
            "cause": str(cause.get("fault", "")),
            "why": str(cause.get("why", "")),
            "confirmed": self._kept.text("confirmed"),
            "proved": self._kept.text("proved"),
            "last": next((e.uid for e in reversed(self._kept.standing()) if e.kind == "test"), ""),
        }

    def _sheet(self) -> Proof:
        kept = self._kept
        blank = self._blank(None if kept.is_empty else kept.case)
        return blank if kept.is_empty else filled(blank, kept.case)

    def _blank(self, case: Case | None) -> Proof:
        board: Circuit | Rails | None = board_of(case) if case is not None else self._kept.circuit
        if board is None:
            raise RequestError(NOTHING)
        repaired, meter = replaced_in(case) if case is not None else "", self._meter()
        text = (board.text, str(board.facts.get("rails", ""))) if isinstance(board, Circuit) else str(board)
        terms = (text, repaired, meter)
        with self._lock:  # the page may ask twice while the first answer is worked out
            if self._known is None or self._known[0] != terms:
                self._known = terms, prove(board, repaired=repaired, meter=meter)
            return self._known[1]

    def _test(self, message: Message) -> str:
        """A result of one line, or any result as people write it; nothing that the sheet cannot take is kept."""
        text = _typed(message.get("at"), message.text)
        was = self._sheet()
        now = was.entered(text)
        self._kept.case.test(text, uid=message.id)
        changed = [c for c in now.checks if c not in was.checks and c.shown]
        return "; ".join(f"{c.key} {c.shown}: {c.verdict}{f', {c.why}' if c.why else ''}" for c in changed) or text

    def _cause(self, message: Message) -> str:
        """What it was; why it failed stands until something else is said."""
        why = message.get("why") or str(self._kept.last("cause").get("why", ""))
        self._kept.case.cause(message.text, why=why, uid=message.id)
        return f"cause: {message.text}"

    def _why(self, message: Message) -> str:
        """Why the part failed, beside the cause that stands."""
        cause = self._kept.last("cause")
        fault = str(cause.get("fault", "")) or replaced_in(self._kept.case)
        if not fault:
            raise RequestError("say the cause first, such as L1 open; then why it failed")
        told = {"class_": str(cause.get("class", "")), "confidence": str(cause.get("confidence", ""))}
        self._kept.case.cause(fault, why=message.text, uid=message.id, **told)
        return f"why {fault}: {message.text}"

    def _confirmed(self, message: Message) -> str:
        fault = str(self._kept.last("cause").get("fault", ""))
        self._kept.case.confirmed(message.text, fault=fault, uid=message.id)
        return f"confirmed: {message.text}"

    def _proved(self, message: Message) -> str:
        """What the sheet shows so far, as the proof of this repair."""
        told = self._sheet().told()
        self._kept.case.proved(**told, uid=message.id)  # type: ignore[arg-type]
        return f"written into the case: {told['text']}"


def _typed(key: str, text: str) -> str:
    """A result as the sheet takes it: the line's key in front, degrees behind the number."""
    if not text:
        raise RequestError("nothing was typed: 5V 5.02, or 12V_AUX to FEED 55 mV at 5.5 A")
    if key.endswith(DEGREES):
        number, at, rest = text.partition(" at ")
        return f"{key.removesuffix(DEGREES)} {number.removesuffix('C').removesuffix('°').strip()}{DEGREES}{at}{rest}"
    return f"{key} {text}" if key else text


def _line(check: Check) -> State:
    action = check.action.partition(" (type: ")[0]  # the field says how
    words = {"key": check.key, "action": action, "should": check.should, "before": check.before}
    return {**words, "shown": check.shown, "verdict": check.verdict, "why": check.why, "hint": _hint(check)}


def _hint(check: Check) -> str:
    """What a line takes, as it might be typed for this board."""
    if check.key.endswith(DEGREES):
        return "52 at 30 min"
    if check.path is not None:
        return f"{say(check.high / 2, 'V', 2)} at {say(check.amps, 'A', 2)}"
    if check.unit == "A":
        middle = (check.low + check.high) / 2
        return say(middle if math.isfinite(middle) else 0.42, "A", 2)
    return HINTS.get(check.key, "")
