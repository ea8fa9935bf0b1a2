"""A casebook as a folder of pages: a list of all cases and one write-up each, for any file share, without a script."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from shouldread.casebook.form import TOLD
from shouldread.casebook.record import Record
from shouldread.casebook.write_up import Heading, heading_of, page_of, rendered, stem_of, write_text

_HEAD = 1000  # characters of a page in which its revision stands


@dataclass(frozen=True, slots=True)
class Row:
    """A case in the list, and the file of its page."""

    file: str
    heading: Heading


def write_site(cases: Iterable[Record], folder: Path, *, private: bool = False, anew: bool = False) -> Path:
    """Write ``index.html`` and a page for every case; a page whose case has not changed since is left (not ``anew``).

    Raises CaseError when the folder cannot be written. Returns the list's path.
    """
    rows, taken = [], {"index"}
    for case in cases:
        stem = _free(stem_of(case.name), taken)
        path, revision = folder / f"{stem}.html", _revision(case, private)
        if anew or _revision_in(path) != revision:
            page = page_of(case, private=private)
            write_text(path, rendered("write_up.html", page=page, words=TOLD, revision=revision))
        rows.append(Row(path.name, heading_of(case)))
    index = folder / "index.html"
    write_text(index, rendered("index.html", rows=rows))
    return index


def _free(stem: str, taken: set[str]) -> str:
    """A file name that no other case took, also where upper and lower case are one."""
    names = (stem if number == 1 else f"{stem}-{number}" for number in range(1, 1_000_000))
    name = next(name for name in names if name.casefold() not in taken)
    taken.add(name.casefold())
    return name


def _revision(case: Record, private: bool) -> str:
    """Changes with every event of the case, and with the form of the page."""
    form = files("shouldread.casebook").joinpath("templates", "write_up.html").read_text(encoding="utf-8")
    told = "\n".join([form, str(private), *(event.uid for event in case.events)])
    return hashlib.sha256(told.encode()).hexdigest()[:32]


def _revision_in(path: Path) -> str:
    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            head = file.read(_HEAD)
    except OSError:
        return ""
    return head.partition('name="revision" content="')[2].partition('"')[0]
