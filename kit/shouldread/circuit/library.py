"""The shelf: circuits that come with the kit, and the blocks of models/."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from shouldread.circuit.circuit import Circuit
from shouldread.circuit.facts import read_toml
from shouldread.circuit.lines import logical_lines
from shouldread.circuit.netlist import read_netlist
from shouldread.circuit.scope import Scope
from shouldread.circuit.subcircuits import Definition
from shouldread.errors import CircuitError, Complaint, RequestError, UnknownNameError


def shelf_folder() -> Path:
    """Where the circuits lie: inside the package, else in the checkout."""
    inside = Path(__file__).resolve().parents[1] / "circuits"
    return inside if inside.is_dir() else Path(__file__).resolve().parents[3] / "circuits"


@dataclass(frozen=True, slots=True)
class Entry:
    """A circuit on the shelf."""

    name: str
    title: str
    about: str
    sort: str
    path: Path


@dataclass(frozen=True, slots=True)
class Shelf:
    """All circuits that come with the kit; prints as a list."""

    entries: tuple[Entry, ...]

    def __iter__(self) -> Iterator[Entry]:
        return iter(self.entries)

    def __len__(self) -> int:
        return len(self.entries)

    @property
    def names(self) -> tuple[str, ...]:
        """Names that load_circuit takes."""
        return tuple(e.name for e in self.entries)

    def frame(self) -> Any:
        """The list as a pandas frame."""
        import pandas as pd

        return pd.DataFrame(
            [{"name": e.name, "title": e.title, "about": e.about, "sort": e.sort} for e in self.entries]
        )

    def __str__(self) -> str:
        wide = max((len(e.name) for e in self.entries), default=0)
        return "\n".join(f"{e.name:<{wide}}  {e.title}" for e in self.entries)


@cache
def shelf() -> Shelf:
    """What circuits there are.

    >>> "two_feed_enable" in shelf().names
    True
    """
    entries = []
    for sort in ("fragments", "boards"):
        for path in sorted((shelf_folder() / sort).glob("*.cir")):
            facts = read_toml(path.read_text(encoding="utf-8-sig"), [])
            title, about = str(facts.get("title", path.stem)), str(facts.get("about", ""))
            entries.append(Entry(path.stem, title, about, sort.removesuffix("s"), path))
    return Shelf(tuple(entries))


@cache
def blocks() -> dict[str, Definition]:
    """The kit's own subcircuits by lower-case name, with the facts of their files."""
    found: dict[str, Definition] = {}
    for path in sorted((shelf_folder() / "models").glob("*.cir")):
        text = path.read_text(encoding="utf-8-sig")
        complaints: list[Complaint] = []
        facts = read_toml(text, complaints).get("block", {})
        scope = Scope(complaints=complaints)
        open_ones: list[Definition] = []
        for line in logical_lines(text):
            word = line.words[0].lower()
            if word == ".subckt" and (made := Definition.begin(line, scope)):
                made.ours, made.facts = True, facts.get(made.name, {})
                open_ones.append(made)
            elif word == ".ends" and open_ones:
                done = open_ones.pop()
                found[done.name.lower()] = done
            elif open_ones:
                open_ones[-1].body.append(line)
        if complaints:
            raise CircuitError(complaints, path.name)
    return found


def load_circuit(source: str | Path | Circuit) -> Circuit:
    """A circuit by its name on the shelf, by path, or from netlist text (anything with a newline).

    Raises CircuitError with all mistakes at once, UnknownNameError with the nearest name on the shelf.

    >>> load_circuit("a divider\\nV1 IN 0 12\\nR1 IN OUT 1k\\nR2 OUT 0 1k\\n").nodes
    ('0', 'IN', 'OUT')
    """
    if isinstance(source, Circuit):
        return source
    if isinstance(source, str) and "\n" in source:
        return read_netlist(source, "circuit", library=blocks())
    named = str(source).strip()
    for entry in shelf():
        if entry.name.casefold() == named.casefold():
            return _from_file(entry.path, entry.name)
    path = Path(named).expanduser()
    if path.suffix.lower() in (".cir", ".net", ".sp", ".spice") or path.is_file():
        return _from_file(path, path.stem)
    raise UnknownNameError("circuit", named, shelf().names, "the shelf")


def _from_file(path: Path, name: str) -> Circuit:
    try:
        if path.stat().st_size > 1_000_000:
            raise RequestError(f"{path.name} is larger than 1 MB; a circuit file is a page or two", value=str(path))
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise RequestError(
            f"the circuit file {path} cannot be read: {error}", value=str(path), known=shelf().names
        ) from error
    return read_netlist(text, name, folder=path.parent, library=blocks())
