"""Cutting a text of readings: lines, headings, states and conditions, against the scene they are read in."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from shouldread.circuit import Circuit
from shouldread.errors import ReadingError
from shouldread.faults import read_conditions
from shouldread.meter.places import Places
from shouldread.meter.profile import Meter
from shouldread.meter.reading import COLD, joined
from shouldread.meter.setting import SETTINGS, heading_word, setting_named
from shouldread.quantities import Spread

MAX_TEXT = 100_000
MAX_LINES = 2_000
MAX_LINE = 300

_CUTS = re.compile(r" with |@", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Line:
    """A line cut at ``@`` and ``with``: the reading itself, its state and conditions ("" and () where unsaid)."""

    said: str
    state: str = ""
    conditions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Scene:
    """What a line is read against: the names, the meter, and what a heading set for what follows."""

    circuit: Circuit | None
    places: Places
    meter: Meter
    nominals: Mapping[str, Spread]
    highest: float = 0.0  # volts of the highest source, 0 where none is known
    setting: str = ""
    state: str = ""
    conditions: tuple[str, ...] = ()


def lines_of(text: str) -> Iterator[str]:
    """The lines of a text, blanks made single, empty ones dropped. Raises ReadingError for far too many."""
    if len(text) > MAX_TEXT:
        raise ReadingError(f"more than {MAX_TEXT} characters at once are not taken; send fewer lines", value=text[:40])
    lines = [" ".join(piece.split()) for row in text.splitlines() for piece in row.split(";")]
    lines = [line for line in lines if line]
    if len(lines) > MAX_LINES:
        raise ReadingError(f"more than {MAX_LINES} readings at once are not taken; send fewer", value=text[:40])
    yield from lines


def cut_line(line: str) -> Line:
    """Cut off state and conditions: either may come first; the state runs to ``with`` or the end."""
    if len(line) > MAX_LINE:
        raise ReadingError(f"a line of more than {MAX_LINE} characters is no reading", value=line[:40])
    if not line.isprintable():
        raise ReadingError("control and format characters are no part of a reading; type it anew", value=line)
    marks = list(_CUTS.finditer(f"{line} "))
    ends = [mark.start() for mark in marks[1:]] + [len(line)]
    said = line[: marks[0].start()] if marks else line
    parts = {"@": "", "with": ""}
    for mark, end in zip(marks, ends, strict=False):
        sign, body = mark[0].strip().casefold(), line[mark.end() : end].strip()
        if not body or parts[sign]:
            what = "a state: @run" if sign == "@" else "what was done: with R1 lifted"
            raise ReadingError(f"one {sign!r} with something behind it is read; write {what}", value=line)
        parts[sign] = body
    return Line(said.strip(), parts["@"], (parts["with"],) if parts["with"] else ())


def heading_of(line: str, scene: Scene) -> tuple[Scene, str] | None:
    """A line ``ohms cold:`` changes the scene; what follows its colon on the same line is a reading."""
    head, colon, rest = line.partition(":")
    cut = cut_line(head) if colon else None
    words = cut.said.split() if cut is not None else []
    if cut is None or not words or heading_word(words[0]) is None or scene.places.spot_known(words[0]):
        return None
    setting = setting_named(words[0]).name
    if cut.state and len(words) > 1:
        raise ReadingError(f"{head!r} names two states", value=line)
    state = cut.state or " ".join(words[1:])
    scene = replace(scene, setting=setting, state="", conditions=())
    return replace(scene, state=state_named(state, scene), conditions=conditions_of(cut, scene)), rest.strip()


def state_named(typed: str, scene: Scene) -> str:
    """A state in the circuit's spelling; "" stays "". Raises UnknownNameError."""
    if not typed or typed.casefold() == COLD:
        return typed.casefold()
    if scene.circuit is None:
        return typed
    wanted = scene.circuit.state(typed).name.replace("_", " ")
    return next((s for s in scene.circuit.states if s.replace("_", " ") == wanted), wanted)


def conditions_of(cut: Line, scene: Scene) -> tuple[str, ...]:
    """The conditions that a line states, else the heading's. Raises UnknownNameError for parts that are not there."""
    if not cut.conditions:
        return scene.conditions
    if scene.circuit is None:
        return joined(cut.conditions[0])
    parts, nodes = scene.circuit.netlist.values(), scene.circuit.nodes
    return tuple(str(c) for text in cut.conditions for c in read_conditions(text, parts, nodes))


def first_state(setting: str, scene: Scene) -> str:
    """The state that a reading has when none is said."""
    if SETTINGS[setting].cold:
        return COLD
    return scene.circuit.states[0] if scene.circuit is not None else ""
