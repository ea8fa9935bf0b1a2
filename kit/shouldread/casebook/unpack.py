"""Taking somebody's archive in: nothing of it is trusted, nothing is written to a folder, all is checked first."""

import json
import math
import re
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

from shouldread.casebook.doubt import Unpacked, checked_case
from shouldread.errors import CaseError, KitError, RequestError

MOST_ENTRIES = 200_000
MOST_BYTES = 2_000_000_000  # of all entries, unpacked
LARGEST = 60_000_000  # bytes of one entry, unpacked: a photo; a case is far smaller
LARGEST_CASE = 20_000_000
DENSEST = 300  # times its packed size that an archive may grow to; text reaches 20
_ENTRY = re.compile(r"(?:cases/[0-9]{1,9}\.json|photos/[0-9a-f]{64}\.png)\Z")


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
    def photo(named: str) -> bytes:
        try:
            found = archive.getinfo(f"photos/{named}.png")
        except KeyError:
            raise RequestError(f"its photo {named[:12]} is not in the archive") from None
        return _data(archive, found, LARGEST)

    return checked_case(document_in(_data(archive, entry, LARGEST_CASE)), photo)


def document_in(data: bytes) -> dict[str, object]:
    """The JSON object in some bytes. Raises RequestError for anything else, and for numbers that are none."""
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
