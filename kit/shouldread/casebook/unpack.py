"""Taking somebody's archive in: nothing of it is trusted, nothing is written to a folder, all is checked first."""

import hashlib
import json
import math
import re
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import NoReturn

from shouldread.casebook.event import Event, checked
from shouldread.casebook.form import check_case
from shouldread.casebook.nouns import Incoming
from shouldread.casebook.photos import prepared_bytes
from shouldread.casebook.said import placed, values_of
from shouldread.errors import CaseError, KitError, RequestError

MOST_ENTRIES = 200_000
MOST_BYTES = 2_000_000_000  # of all entries, unpacked
LARGEST = 60_000_000  # bytes of one entry, unpacked: a photo; a case is far smaller
LARGEST_CASE = 20_000_000
DENSEST = 300  # times its packed size that an archive may grow to; text reaches 20
_ENTRY = re.compile(r"(?:cases/[0-9]{1,9}\.json|photos/[0-9a-f]{64}\.png)\Z")


@dataclass(frozen=True, slots=True)
class Unpacked:
    """One case of an archive, checked, with the photos that it shows."""

    case: Incoming
    photos: Mapping[str, bytes]


def unpack(path: Path) -> Iterator[Unpacked]:
    """The cases of an archive, one after the other, each checked whole.

    Raises CaseError that names the entry and the reason for anything that is not as ``pack`` writes it.
    """
    with _opened(path) as archive:
        entries = _checked_entries(archive, path)
        for entry in entries:
            if entry.filename.startswith("cases/"):
                try:
                    yield _case(archive, entry)
                except KitError as trouble:
                    said = " ".join(str(trouble).split())[:300]
                    raise CaseError(f"{path.name}, {entry.filename}: {said}; nothing was taken in") from trouble


@contextmanager
def _opened(path: Path) -> Iterator[zipfile.ZipFile]:
    try:
        with zipfile.ZipFile(path) as archive:
            yield archive
    except CaseError:
        raise
    except OSError as error:
        raise CaseError(f"{path.name} cannot be read: {error.strerror or error}", value=str(path)) from error
    except (zipfile.BadZipFile, zipfile.LargeZipFile, ValueError, EOFError, NotImplementedError) as error:
        raise CaseError(f"{path.name} is no archive of cases: {error}", value=str(path)) from error


def _checked_entries(archive: zipfile.ZipFile, path: Path) -> list[zipfile.ZipInfo]:
    """The table of contents, or the reason to refuse it before anything is unpacked."""
    entries = archive.infolist()
    packed, grown = path.stat().st_size, sum(entry.file_size for entry in entries)
    if len(entries) > MOST_ENTRIES:
        raise CaseError(f"{path.name} holds more than {MOST_ENTRIES} entries; hand the cases over in several files")
    if grown > MOST_BYTES or grown > DENSEST * packed + 1_000_000:
        raise CaseError(f"{path.name} would grow from {packed} to {grown} bytes; not unpacked")
    names = set[str]()
    for entry in entries:
        name = entry.filename
        if not _ENTRY.match(name):
            raise CaseError(
                f"{path.name} holds {ascii(name)[:80]}, which no archive of cases holds; nothing was taken in"
            )
        if name in names:
            raise CaseError(f"{path.name} holds {name} twice; nothing was taken in")
        if entry.flag_bits & 1 or entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise CaseError(f"{path.name}: {name} is encrypted or packed in an unusual way; nothing was taken in")
        names.add(name)
    if not any(name.startswith("cases/") for name in names):
        raise CaseError(f"{path.name} holds no case")
    return sorted(entries, key=lambda entry: entry.filename)


def _data(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, largest: int) -> bytes:
    if entry.file_size > largest:
        raise RequestError(f"larger than {largest // 1_000_000} MB")
    try:
        with archive.open(entry) as file:
            return file.read(largest + 1)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, ValueError) as error:
        raise RequestError(f"damaged ({error})") from error


def _case(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> Unpacked:
    document = _document(_data(archive, entry, LARGEST_CASE))
    check_case(document)
    name = str(document["name"]).strip()
    if not name or not name.isprintable():
        raise RequestError("the name of the case holds a sign that cannot be shown", value=name)
    photos: dict[str, bytes] = {}
    rows: list[dict[str, object]] = document["events"]  # type: ignore[assignment]
    events = [_event(row, number, archive, photos) for number, row in enumerate(rows)]
    if [event.kind == "opened" for event in events] != [True] + [False] * (len(events) - 1):
        raise RequestError("a case begins with one event of kind 'opened'")
    if len({event.uid for event in events}) < len(events):
        raise RequestError("two events bear the same uid")
    values = {event.uid: values_of(event, items) for event, items, _ in placed(events)}
    return Unpacked(Incoming(name, tuple(events), values), photos)


def _document(data: bytes) -> dict[str, object]:
    try:
        document = json.loads(data.decode("utf-8"), parse_constant=_no_number, parse_float=_number, parse_int=_whole)
    except (ValueError, RecursionError) as error:
        raise RequestError(f"no JSON this kit reads ({str(error)[:80] or 'nested too deep'})") from error
    if not isinstance(document, dict):
        raise RequestError("not a case: a JSON object is expected")
    return document


def _no_number(text: str) -> NoReturn:
    raise ValueError(f"{text} is no number")


def _number(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        _no_number(text[:20])
    return value


def _whole(text: str) -> int:
    if len(text) > 16:  # beyond that a float is no longer exact, and nothing on a board is that large
        _no_number(text[:20])
    return int(text)


def _event(row: Mapping[str, object], number: int, archive: zipfile.ZipFile, photos: dict[str, bytes]) -> Event:
    try:
        at = datetime.fromisoformat(str(row["at"]))
        event = Event(str(row["kind"]), dict(row["body"]), at, str(row["uid"]))  # type: ignore[call-overload]
        if event.kind == "photo":
            event = _with_photo(event, archive, photos)
        return checked(event)
    except (KitError, ValueError) as error:
        raise RequestError(f"events[{number}]: {str(error)[:200]}") from error


def _with_photo(event: Event, archive: zipfile.ZipFile, photos: dict[str, bytes]) -> Event:
    """The event with its photo encoded anew: what came is only believed to be pixels."""
    named = str(event.body["sha256"])
    try:
        entry = archive.getinfo(f"photos/{named}.png")
    except KeyError:
        raise RequestError(f"its photo {named[:12]} is not in the archive") from None
    data = _data(archive, entry, LARGEST)
    if hashlib.sha256(data).hexdigest() != named:
        raise RequestError(f"its photo {named[:12]} is not the one that was packed")
    picture = prepared_bytes(data, f"photo {named[:12]}")
    photos[picture.sha256] = picture.png
    more = {"sha256": picture.sha256, "width": picture.width, "height": picture.height}
    return replace(event, body={**event.body, **more})
