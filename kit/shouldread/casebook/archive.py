"""Handing cases over: one zip file with a JSON document a case (``case.schema.json``) and the photos beside it."""

import json
import os
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import IO

from shouldread.casebook.event import Event
from shouldread.casebook.form import FORM, PRIVATE
from shouldread.casebook.record import Record
from shouldread.errors import CaseError

_DAY_ZERO = (1980, 1, 1, 0, 0, 0)  # so that the same cases give the same file


def pack(cases: Iterable[Record], path: Path, *, private: bool = False) -> int:
    """Write the cases into one archive; returns how many. Customer and serial stay out unless ``private``.

    Raises CaseError when the file cannot be written; then an older one of that name is still whole.
    """
    count, shown = 0, set[str]()
    with replacing(path) as file, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for count, case in enumerate(cases, 1):
            document = document_of(case, private=private)
            text = json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False)
            _add(archive, f"cases/{count:06d}.json", text.encode())
            for event in case.events:
                sha256 = str(event.body.get("sha256", ""))
                if event.kind == "photo" and sha256 not in shown:
                    shown.add(sha256)
                    _add(archive, f"photos/{sha256}.png", case.photo(sha256), zipfile.ZIP_STORED)
    return count


def document_of(case: Record, *, private: bool = False) -> dict[str, object]:
    """The case in its documented form."""
    events = [
        {"uid": e.uid, "at": e.at.isoformat(), "kind": e.kind, "body": dict(_shared(e, private))} for e in case.events
    ]
    return {"form": FORM, "name": case.name, "board": case.board, "events": events}


def _shared(event: Event, private: bool) -> Mapping[str, object]:
    return event.body if private else {k: v for k, v in event.body.items() if k not in PRIVATE}


def _add(archive: zipfile.ZipFile, name: str, data: bytes, how: int = zipfile.ZIP_DEFLATED) -> None:
    entry = zipfile.ZipInfo(name, _DAY_ZERO)
    entry.compress_type, entry.external_attr = how, 0o600 << 16
    archive.writestr(entry, data)


@contextmanager
def replacing(path: Path) -> Iterator[IO[bytes]]:
    """A file that takes its name only when it is complete and on the disk. Raises CaseError."""
    kept = None
    try:
        with NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as file:
            kept = Path(file.name)
            yield file
            file.flush()
            os.fsync(file.fileno())
        kept.replace(path)
        kept = None
    except OSError as error:
        if isinstance(error, CaseError):
            raise
        raise CaseError(
            f"{path.name} cannot be written to {path.parent}: {error.strerror}", value=str(path)
        ) from error
    finally:
        if kept is not None:
            kept.unlink(missing_ok=True)
