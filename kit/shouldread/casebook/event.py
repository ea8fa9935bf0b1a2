"""Event: one thing that was read, seen, done or concluded on a board. A case is nothing but its events."""

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

from shouldread.errors import RequestError, UnknownNameError

KINDS: Mapping[str, tuple[str, ...]] = {
    # kind -> the keys its body may hold; the first is required
    "opened": ("board", "symptom", "circuit", "customer", "serial"),
    "symptom": ("text",),
    "sheet": ("text",),
    "supply": ("volts", "limit", "amps", "limiting", "fed", "pattern"),
    "reading": ("text", "good", "rails"),
    "observation": ("text",),
    "done": ("text", "part", "lot"),
    "photo": ("sha256", "marks", "about", "width", "height"),
    "circuit": ("text", "name"),
    "board": ("text",),
    "traced": ("text", "name"),
    "cause": ("fault", "class", "confidence", "why"),
    "proved": ("text", "amps", "minutes", "rails"),
    "closed": ("text",),
    "reopened": ("text",),
    "note": ("text",),
    "undone": ("uid",),
}
LONGEST = 200_000  # characters of one body: a circuit text fits, a bomb does not


def fresh_uid() -> str:
    """A name that no other event bears."""
    return uuid.uuid4().hex


@dataclass(frozen=True, slots=True)
class Event:
    """When (UTC), what kind, and what was said. ``uid`` makes a repeated message a no-op."""

    kind: str
    body: Mapping[str, object]
    at: datetime = field(default_factory=lambda: datetime.now(UTC))
    uid: str = field(default_factory=fresh_uid)
    seq: int = 0

    def body_text(self) -> str:
        """The body as JSON, keys in a fixed order."""
        return json.dumps(dict(self.body), ensure_ascii=False, sort_keys=True)


def checked(event: Event) -> Event:
    """The event itself, or an error that says what its kind may hold."""
    allowed = KINDS.get(event.kind)
    if allowed is None:
        raise UnknownNameError("kind of event", event.kind, KINDS)
    for key in event.body:
        if key not in allowed:
            raise UnknownNameError(f"{event.kind} detail", key, allowed)
    if allowed[0] not in event.body:
        raise RequestError(f"an event of kind {event.kind!r} needs {allowed[0]!r}", value=event.kind)
    if len(event.body_text()) > LONGEST:
        raise RequestError(f"that is longer than {LONGEST} characters; attach it as a file instead")
    if not (1 <= len(event.uid) <= 64 and event.uid.isascii()):
        raise RequestError("an event id is 1 to 64 plain characters", value=event.uid)
    return event
