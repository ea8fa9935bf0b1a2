"""Event: one thing that was read, seen, done or concluded on a board. A case is nothing but its events."""

import json
import re
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

from shouldread.casebook.form import KINDS, check_body
from shouldread.errors import RequestError, UnknownNameError

LONGEST = 200_000  # characters of one body: a circuit text fits, a bomb does not
_UNSHOWABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
_UID = re.compile(r"[0-9A-Za-z._:-]{1,64}\Z")


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
        """The body as JSON, keys in a fixed order. Raises RequestError for what no JSON holds."""
        try:
            return json.dumps(dict(self.body), ensure_ascii=False, sort_keys=True, allow_nan=False)
        except (TypeError, ValueError, RecursionError) as error:
            raise RequestError(f"{self.kind}: {error}", value=self.kind) from error


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
    text = event.body_text()
    if len(text) > LONGEST:
        raise RequestError(f"that is longer than {LONGEST} characters; attach it as a file instead")
    if odd := _unshowable(event.body.values()):
        raise RequestError(f"a sign in it cannot be shown ({odd}): type it again without", value=event.kind)
    check_body(event.kind, event.body)
    if not _UID.match(event.uid):
        raise RequestError("an event id is 1 to 64 plain characters", value=event.uid)
    return event


def _unshowable(values: object) -> str:
    """The first control sign, direction sign or half of a character in texts, lists of texts; "" when there is none."""
    if isinstance(values, str):
        found = _UNSHOWABLE.search(values)
        return f"U+{ord(found.group()):04X}" if found else ""
    if isinstance(values, int | float | None):
        return ""
    return next(filter(None, map(_unshowable, values)), "")  # type: ignore[call-overload]
