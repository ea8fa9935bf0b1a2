"""Somebody else's case is data to be checked: every event, every reading, every photo, before anything is kept."""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from shouldread.casebook.event import Event, checked
from shouldread.casebook.form import check_case
from shouldread.casebook.nouns import Incoming
from shouldread.casebook.photos import prepared_bytes
from shouldread.casebook.said import placed, values_of
from shouldread.errors import KitError, RequestError

Photos = Callable[[str], bytes]  # the bytes of a photo by its fingerprint; raises RequestError


@dataclass(frozen=True, slots=True)
class Unpacked:
    """One case from elsewhere, checked, with the photos that it shows."""

    case: Incoming
    photos: Mapping[str, bytes]


def checked_case(document: object, photo: Photos) -> Unpacked:
    """The case that a document of ``case.schema.json`` describes.

    Raises RequestError, ReadingError or CircuitError with the first thing that is not as it should be.
    """
    check_case(document)
    assert isinstance(document, dict)
    name = str(document["name"]).strip()
    if not name or not name.isprintable():
        raise RequestError("the name of the case holds a sign that cannot be shown", value=name)
    photos: dict[str, bytes] = {}
    events = [_event(row, number, photo, photos) for number, row in enumerate(document["events"])]
    if [event.kind == "opened" for event in events] != [True] + [False] * (len(events) - 1):
        raise RequestError("a case begins with one event of kind 'opened'")
    if len({event.uid for event in events}) < len(events):
        raise RequestError("two events bear the same uid")
    values = {event.uid: values_of(event, items) for event, items, _ in placed(events)}
    return Unpacked(Incoming(name, tuple(events), values), photos)


def _event(row: Mapping[str, object], number: int, photo: Photos, photos: dict[str, bytes]) -> Event:
    try:
        at = datetime.fromisoformat(str(row["at"]))
        event = Event(str(row["kind"]), dict(row["body"]), at, str(row["uid"]))  # type: ignore[call-overload]
        return checked(_with_photo(event, photo, photos) if event.kind == "photo" else event)
    except (KitError, ValueError) as error:
        raise RequestError(f"events[{number}]: {str(error)[:200]}") from error


def _with_photo(event: Event, photo: Photos, photos: dict[str, bytes]) -> Event:
    """The event with its photo encoded anew: what came is only believed to be pixels."""
    named = str(event.body["sha256"])
    data = photo(named)
    if hashlib.sha256(data).hexdigest() != named:
        raise RequestError(f"its photo {named[:12]} is not the one that was packed")
    picture = prepared_bytes(data, f"photo {named[:12]}")
    photos[picture.sha256] = picture.png
    more = {"sha256": picture.sha256, "width": picture.width, "height": picture.height}
    return replace(event, body={**event.body, **more})
