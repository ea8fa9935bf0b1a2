"""What the page may say to the kernel: a closed set of verbs, each with its few short texts. All else is refused."""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field

from shouldread.errors import RequestError, UnknownNameError

LONGEST = 4000  # characters of the text itself
LONG = {"netlist": 200_000, "part": 40_000}  # characters where a text has many lines
SHORT = 200  # characters of a name, a setting, a state, a condition
_ID = re.compile(r"[0-9a-f]{8,64}\Z")
_SHELL = frozenset({"do", "id", "revision", "sent", "text"})

VERBS: Mapping[str, frozenset[str]] = {
    # verb -> what it may carry beside its text
    "read": frozenset({"at", "setting", "state", "condition", "screen"}),
    "undo": frozenset(),
    "case": frozenset(),
    "board": frozenset(),
    "symptom": frozenset(),
    "supply": frozenset({"volts", "limit", "amps", "limiting", "fed"}),
    "rail": frozenset({"rail"}),
    "rails in": frozenset({"setting"}),
    "look": frozenset({"setting", "state", "condition"}),
    "suppose": frozenset({"fault", "setting", "state", "condition"}),
    "confirm": frozenset({"fault", "state"}),
    "what if": frozenset({"part"}),
    "meter": frozenset(),
    "proof": frozenset(),
    "test": frozenset({"at"}),
    "cause": frozenset({"why"}),
    "why": frozenset(),
    "confirmed": frozenset(),
    "proved": frozenset(),
    "part": frozenset({"line"}),
    "unpart": frozenset(),
    "untrace": frozenset(),
    "sort": frozenset({"line"}),
    "stage name": frozenset(),
    "netlist": frozenset(),
    "retrace": frozenset(),
    "use": frozenset(),
    "stop": frozenset(),
    "go on": frozenset(),
}


@dataclass(frozen=True, slots=True)
class Message:
    """One thing the page asks: the verb, the id that makes a repeat harmless, a text, and what goes with it."""

    verb: str
    id: str
    text: str = ""
    more: Mapping[str, str] = field(default_factory=dict)

    def get(self, name: str) -> str:
        """What goes with it under a name, "" when nothing does."""
        return self.more.get(name, "")


def read_message(content: object, verbs: Mapping[str, frozenset[str]] = VERBS) -> Message:
    """The message that a page sent, checked. Raises RequestError or UnknownNameError for anything else."""
    if not isinstance(content, dict):
        raise RequestError("a message is a mapping")
    verb, uid = content.get("do"), content.get("id")
    if not isinstance(uid, str) or not _ID.match(uid):
        raise RequestError("a message needs an id")
    if not isinstance(verb, str) or verb not in verbs:
        raise UnknownNameError("verb", str(verb)[:SHORT], verbs)
    for key in content:
        if key not in _SHELL and key not in verbs[verb]:
            raise UnknownNameError(f"detail of {verb!r}", str(key)[:SHORT], verbs[verb])
    more = {key: _checked(content[key], key, SHORT) for key in verbs[verb] if key in content}
    return Message(verb, uid, _checked(content.get("text", ""), "text", LONG.get(verb, LONGEST)), more)


def message_id(content: object) -> str:
    """The id that a message claims, if it is one at all: an answer needs somebody to go to."""
    uid = content.get("id") if isinstance(content, dict) else None
    return uid if isinstance(uid, str) and _ID.match(uid) else ""


def _checked(value: object, name: str, longest: int) -> str:
    """A text without control or format characters, in one form; yes and no become 'yes' and ''."""
    if isinstance(value, bool):
        return "yes" if value else ""
    if not isinstance(value, str):
        raise RequestError(f"{name} is not a text", value=value)
    if len(value) > longest:
        raise RequestError(f"that is longer than {longest} characters", value=value[:40])
    text = unicodedata.normalize("NFC", value)
    if any(unicodedata.category(letter) in ("Cc", "Cf", "Cs") and letter not in "\n\t" for letter in text):
        raise RequestError("a sign in it cannot be shown: type it again without", value=text[:40])
    return text.strip()
