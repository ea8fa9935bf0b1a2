"""Tracing a stage part by part: lines as a technician types them become a circuit, mistakes stay beside their line."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import lru_cache

from shouldread.circuit.circuit import Circuit
from shouldread.circuit.facts import read_toml
from shouldread.circuit.library import blocks
from shouldread.circuit.netlist import read_netlist
from shouldread.circuit.rails import Rails
from shouldread.circuit.sorts import plain_word, words
from shouldread.circuit.trace_feeds import Feeds, feeds_of
from shouldread.circuit.trace_line import read_part
from shouldread.circuit.trace_netlist import Element, Facts, elements, netlist_rows
from shouldread.circuit.trace_said import said_of
from shouldread.circuit.trace_wires import Wires, wired
from shouldread.circuit.traced_part import TracedPart, needs_number
from shouldread.errors import CircuitError, Complaint, KitError, RequestError

_JOIN = re.compile(r"(\S+)\s+is\s+(\S+)", re.IGNORECASE)
RAW = "netlist "  # a line that the words have no sort for, as the netlist writes it
MOST_LINES = 400


@dataclass(frozen=True, slots=True)
class TracedRow:
    """One line as typed, what it is taken for, what is wrong with it and the other sorts that the part could be."""

    text: str
    said: str = ""
    wrong: str = ""
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Trace:
    """A stage as traced so far. Frozen: every line added or taken back gives a new one.

    ``rails``, ``volts`` (V) and ``fed`` are the board's: what feeds the stage is taken from there.
    """

    lines: tuple[str, ...] = ()
    title: str = ""
    rails: Rails = field(default_factory=Rails)
    volts: float | None = None
    fed: tuple[str, ...] = ()

    @classmethod
    def read(cls, text: str, title: str = "", rails: Rails | None = None) -> "Trace":
        """From lines of text.

        >>> trace = Trace.read("R? from 12V to B1 47k\\nQ7 npn b B1 e GND c EN\\nVAUX at 12V 12")
        >>> trace.lines[0], [row.wrong for row in trace.rows], trace.circuit.parts
        ('R1 from 12V to B1 47k', ['', '', ''], ('R1', 'Q7', 'VAUX'))
        """
        trace = cls((), title, rails if rails is not None else Rails())
        for line in text.splitlines():
            if line.strip():
                trace = trace.add(line)
        return trace

    def add(self, line: str) -> "Trace":
        """With a line more; ``R?`` and a bare ``C`` get the next free number. A line with a mistake stays, marked."""
        text = line.strip()
        if not text:
            raise RequestError("nothing was typed: R? from 12V_AUX to Q7.2 47k", value=line)
        if len(self.lines) >= MOST_LINES:
            raise RequestError(f"more than {MOST_LINES} lines; a stage is a page of parts", value=text[:40])
        return replace(self, lines=(*self.lines, _numbered(text, self.lines)))

    def change(self, number: int, line: str) -> "Trace":
        """With another text in place of a line (from 0)."""
        self._line(number)
        text = _numbered(line.strip(), self.lines[:number] + self.lines[number + 1 :])
        return replace(self, lines=(*self.lines[:number], text, *self.lines[number + 1 :]))

    def without(self, number: int) -> "Trace":
        """Without a line (from 0). The other parts keep their names."""
        self._line(number)
        return replace(self, lines=self.lines[:number] + self.lines[number + 1 :])

    def settled(self, number: int, sort: str) -> "Trace":
        """With the sort of a part settled, where it was unsure between several."""
        name, *rest = self._line(number).split()
        kept = [word for word in rest if word != "|" and not (word.casefold() in words() and plain_word(word) != "")]
        return self.change(number, " ".join([name, sort, *kept]))

    def _line(self, number: int) -> str:
        if not 0 <= number < len(self.lines):
            raise RequestError(f"there is no line {number + 1}; there are {len(self.lines)}", value=number)
        return self.lines[number]

    @property
    def text(self) -> str:
        """The lines as they are kept."""
        return "\n".join(self.lines)

    @property
    def rows(self) -> tuple[TracedRow, ...]:
        """Every line with what it is taken for, or what is wrong and what to type instead."""
        return _worked(self).rows

    @property
    def questions(self) -> tuple[str, ...]:
        """What is still missing before the stage can be judged: what feeds it."""
        return _worked(self).questions

    @property
    def circuit(self) -> Circuit | None:
        """The circuit of all lines without a mistake; what else hangs on it is unknown. None without any part."""
        return _worked(self).circuit

    @property
    def netlist(self) -> str:
        """The same as a circuit file, which ``load_circuit`` reads back as it is."""
        return _worked(self).netlist

    @property
    def other_circuits(self) -> tuple[tuple[str, Circuit], ...]:
        """The circuit with each other sort that an unsure part could be: ``("Q7 npn prebiased pair", circuit)``."""
        found = []
        for number, row in enumerate(self.rows):
            for sort in row.also:
                circuit = self.settled(number, sort).circuit
                if circuit is not None:
                    found.append((f"{row.text.split()[0]} {sort}", circuit))
        return tuple(found)


@dataclass(frozen=True, slots=True)
class _Worked:
    """What the lines come to."""

    rows: tuple[TracedRow, ...]
    circuit: Circuit | None
    netlist: str
    questions: tuple[str, ...]


def _numbered(text: str, others: Iterable[str]) -> str:
    """The line with the next free number where its name has none."""
    first, _, rest = text.partition(" ")
    if not needs_number(first) or not rest.strip() or _JOIN.fullmatch(text):
        return text
    letters = first.rstrip("?")
    taken = {line.split()[0].casefold() for line in others if line.strip()}
    number = next(n for n in range(1, MOST_LINES + 2) if f"{letters}{n}".casefold() not in taken)
    return f"{letters}{number} {rest.strip()}"


@dataclass(slots=True)
class _Sorted:
    """The lines by what they are."""

    parts: list[tuple[int, TracedPart]]
    joins: list[tuple[int, str, str]]
    raw: list[tuple[int, str]]
    facts: Facts
    wrong: dict[int, str]


def _sort_lines(lines: tuple[str, ...]) -> _Sorted:
    out = _Sorted([], [], [], {}, {})
    seen: dict[str, int] = {}
    stated: list[str] = []
    inside = False  # of a .subckt
    for number, text in enumerate(lines):
        folded = text.casefold()
        if text.startswith("*:"):
            stated.append(text)
        elif inside or text.startswith((".", "+", "*")) or folded.startswith(RAW):
            inside = (inside or folded.startswith(".subckt")) and not folded.startswith(".ends")
            out.raw.append((number, text[len(RAW) :] if folded.startswith(RAW) else text))
        elif hit := _JOIN.fullmatch(text):
            out.joins.append((number, hit[1], hit[2]))
        else:
            _sort_part(number, text, seen, out)
    complaints: list[Complaint] = []
    out.facts = read_toml("\n".join(stated), complaints)
    for number in [n for n, text in enumerate(lines) if text.startswith("*:")] if complaints else []:
        out.wrong[number] = complaints[0].text
    return out


def _sort_part(number: int, text: str, seen: dict[str, int], out: _Sorted) -> None:
    try:
        part = read_part(text)
    except KitError as error:
        out.wrong[number] = error.message
        return
    first = seen.setdefault(part.name.casefold(), number)
    if first != number:
        out.wrong[number] = (
            f"{part.name} stands on line {first + 1} already; give this one another name, such as {part.name[0].upper()}?"
        )
    else:
        out.parts.append((number, part))


@lru_cache(maxsize=64)
def _worked(trace: Trace) -> _Worked:
    """Read every line, join the ends, and read the netlist that they make until nothing in it is wrong."""
    told = _sort_lines(trace.lines)
    wires = wired(told.parts, told.joins)
    for number, text in wires.wrong.items():
        told.wrong.setdefault(number, text)
    circuit, rows, feeds = None, list[tuple[int, str]](), Feeds()
    for _ in range(len(trace.lines) + 1):
        placed = _placed(told, wires)
        feeds = feeds_of(placed, told.parts, trace.rails, trace.volts, trace.fed)
        raw = [row for row in told.raw if row[0] not in told.wrong]
        rows = netlist_rows(trace.title or "Traced stage", [*placed, *feeds.elements], raw, told.facts)
        if not placed and not raw:
            break
        try:
            circuit = read_netlist("\n".join(row for _, row in rows) + "\n", trace.title or "traced", library=blocks())
            break
        except CircuitError as error:
            if not _blame(error, rows, told.wrong):
                told.wrong.setdefault(len(trace.lines) - 1, str(error.complaints[0].text))
                break
    text = "\n".join(row for _, row in rows) + "\n" if circuit is not None else ""
    return _Worked(_rows(trace, told, wires), circuit, text, feeds.questions if circuit is not None else ())


def _placed(told: _Sorted, wires: Wires) -> list[tuple[int, Element]]:
    """The elements of every line that has no mistake."""
    return [(n, element) for n, part in told.parts if n not in told.wrong for element in elements(part, wires)]


def _blame(error: CircuitError, rows: list[tuple[int, str]], wrong: dict[int, str]) -> bool:
    """Put each complaint beside the line that its row comes from. Returns whether any new line was found."""
    before = len(wrong)
    for complaint in error.complaints:
        origin = rows[complaint.line - 1][0] if complaint.line <= len(rows) else -1
        if origin >= 0:
            wrong.setdefault(origin, complaint.text)
    return len(wrong) > before


def _rows(trace: Trace, told: _Sorted, wires: Wires) -> tuple[TracedRow, ...]:
    parts = dict(told.parts)
    return tuple(
        TracedRow(
            text,
            said_of(parts[n], wires) if n in parts and n not in told.wrong else "",
            told.wrong.get(n, ""),
            parts[n].also if n in parts else (),
        )
        for n, text in enumerate(trace.lines)
    )
