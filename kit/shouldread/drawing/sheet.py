"""What has to be drawn: pieces with pins on nodes, the supplies and the ground, read from a circuit."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Protocol

from shouldread.drawing.captions import value_text
from shouldread.drawing.hints import Hints, read_hints
from shouldread.drawing.symbols import Symbol, symbol_of
from shouldread.parts import Part

GROUND = "0"
_SMALL_OHMS = 1.0  # a resistor up to this is a shunt or a link: it lies in a supply line
INPUT_TAG = Symbol("input tag", "tag")
OUTPUT_TAG = Symbol("output tag", "tag")


class Drawable(Protocol):
    """What the drawing needs of a circuit."""

    @property
    def netlist(self) -> Mapping[str, Part]:
        """Top-level parts by name."""

    @property
    def hints(self) -> Mapping[str, object]:
        """Drawing hints as the file gives them."""


@dataclass(frozen=True, slots=True)
class Pin:
    """A pin of a piece. ``side``: left, right, top, bottom of a box; ``flow``: in, out or nothing."""

    name: str
    node: str
    side: str = ""
    flow: str = ""
    rank: int = 0  # from the top of its side
    unsure: bool = False  # traced as one that may sit elsewhere


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing to place: a part, or a tag that names a node. ``lines``: its name and its value."""

    name: str
    symbol: Symbol
    pins: tuple[Pin, ...]
    lines: tuple[str, ...] = ()
    ref: str = ""
    lies: bool = False  # in the way of the current, to be drawn along it

    @property
    def nodes(self) -> tuple[str, ...]:
        """The node of each pin."""
        return tuple(pin.node for pin in self.pins)

    @property
    def control(self) -> str | None:
        """The node at the control pin of a transistor or thyristor."""
        if self.symbol.form != "three":
            return None
        return self.pins[self.symbol.order.index("control")].node

    @property
    def path(self) -> tuple[str, str]:
        """The two nodes of the main path: high end, low end (two-pin: first, second pin)."""
        if self.symbol.form != "three":
            return self.pins[0].node, self.pins[1].node
        order = self.symbol.order
        return self.pins[order.index("top")].node, self.pins[order.index("bottom")].node


@dataclass(frozen=True, slots=True)
class Source:
    """What feeds a node from outside: the source's name, its live pin, and its volts to ground."""

    part: str
    pin: str
    volts: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """Pieces, supply nodes drawn as flags (``rails``: node to volts) and the tagged nodes."""

    pieces: tuple[Piece, ...]
    rails: Mapping[str, float]
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    sources: Mapping[str, Source] = field(default_factory=dict)  # by the node fed
    made: tuple[str, ...] = ()  # rails that a part on the sheet makes
    wired: Mapping[str, float] = field(default_factory=dict)  # supplies drawn as a tag and a wire
    hints: Hints = field(default_factory=Hints)

    def flagged(self, node: str) -> bool:
        """Whether the node is drawn as a flag or ground sign at each pin instead of a wire."""
        return node == GROUND or node in self.rails

    def at(self, node: str) -> list[Piece]:
        """The pieces on a node."""
        return [piece for piece in self.pieces if node in piece.nodes]

    def pin_counts(self) -> dict[str, int]:
        """How many pins hang on each node, in netlist order."""
        counts: dict[str, int] = {}
        for piece in self.pieces:
            for pin in piece.pins:
                counts[pin.node] = counts.get(pin.node, 0) + 1
        return counts


_SIDE_OF_ROLE = {"out": "right", "feedback": "right", "flag": "right", "ground": "bottom"}
_RANK_OF_ROLE = {"in": 0, "supply": 0, "out": 0, "enable": 1, "flag": 1, "feedback": 2}
_FLOW_OF_ROLE = {"out": "out", "flag": "out", "feedback": "in", "ground": ""}
_GUESSES = (
    (re.compile(r"^(GND|AGND|PGND|VSS|VEE|EP|0|-)$", re.I), "ground"),
    (re.compile(r"^(VO|VOUT|OUT\d*|SW|LX|Q|Y|RST|RESET|PG|PGOOD|FAULT|FLAG)", re.I), "out"),
    (re.compile(r"^(FB|ADJ|SENSE|VSNS)", re.I), "feedback"),
)
_RAIL_NAME = re.compile(r"^[+-]|^\d+(\.\d+)?V|^V(\d|IN|CC|DD|EE|SS|BAT|BUS|SYS|MAIN|AUX)|^BAT|^VS?$", re.I)


def _role(part: Part, pin: str) -> tuple[str, str]:
    facts = part.block.pin_facts.get(pin) if part.block else None
    if facts and (facts.role or facts.side):
        return facts.role, facts.side
    return next((role for pattern, role in _GUESSES if pattern.search(pin)), "in"), ""


def _unsure(part: Part, pin: str) -> bool:
    told = part.facts.get("unsure", ())
    return isinstance(told, list) and pin.casefold() in (str(name).casefold() for name in told)


def _box_pins(part: Part, symbol: Symbol) -> tuple[Pin, ...]:
    pins = []
    for k, (name, node) in enumerate(zip(part.pins, part.nodes, strict=True)):
        role, side = _role(part, name)
        side = symbol.sides[k] if symbol.sides else side or _SIDE_OF_ROLE.get(role, "left")
        flow = _FLOW_OF_ROLE.get(role, "in")
        rank = 0 if symbol.sides else _RANK_OF_ROLE.get(role, 1)
        flow = "out" if symbol.sides and side == "right" else flow
        pins.append(Pin(name, node, side, flow, rank, _unsure(part, name)))
    return tuple(pins)


def piece_of(part: Part) -> Piece:
    """The piece that stands for a part."""
    symbol = symbol_of(part)
    lines = tuple(text for text in (part.name, value_text(part)) if text)
    if symbol.form == "box":
        return Piece(part.name, symbol, _box_pins(part, symbol), lines, part.name)
    pins = [Pin(name, node, unsure=_unsure(part, name)) for name, node in zip(part.pins, part.nodes, strict=True)]
    if symbol.form == "two":
        pins = pins[:2]
    elif symbol.form == "three" and "bulk" not in symbol.name:
        pins = pins[:3]
    if symbol.contact or (symbol.name == "source" and part.kind != "V"):
        lines = (part.name,)
    small = part.kind == "R" and part.value is not None and 0 < part.value.nominal <= _SMALL_OHMS
    return Piece(part.name, symbol, tuple(pins), lines, part.name, symbol.lies or small)


def _feed(part: Part) -> tuple[str, Source] | None:
    """The node that a source to ground feeds, and the source; or None."""
    supply = part.block is not None and part.block.name.upper() == "SUPPLY" and len(part.nodes) == 2
    if part.kind != "V" and not supply:
        return None
    first, second = part.nodes[:2]
    volts = part.value.nominal if part.value else part.settings.get("vset", 12.0)
    if second == GROUND and first != GROUND:
        return first, Source(part.name, part.pins[0], volts)
    if first == GROUND and second != GROUND:
        return second, Source(part.name, part.pins[1], -volts)
    return None


def _is_rail(node: str, volts: float, signal: bool, pins: int, hints: Hints) -> bool:
    if node in hints.rails or node in hints.inputs:
        return node in hints.rails
    if signal:
        return False
    if _RAIL_NAME.search(node):
        return pins > 0
    return volts != 0 and pins > 1


def read_sheet(circuit: Drawable, hints: Mapping[str, object] | None = None) -> Sheet:
    """The pieces of a circuit and what feeds them; parts marked ``hide`` are left out.

    Raises UnknownNameError or RequestError for hints that cannot be followed.
    """
    parts = list(circuit.netlist.values())
    nodes = dict.fromkeys(node for part in parts for node in part.nodes)
    words = read_hints(circuit.hints if hints is None else hints, nodes, circuit.netlist)
    shown = [part for part in parts if part.name not in words.hide and not part.facts.get("hide")]
    sources: dict[str, Source] = {}
    drawn = []
    for part in shown:
        feed = _feed(part)
        if feed is None or feed[0] in sources:
            drawn.append(piece_of(part))
        else:
            sources[feed[0]] = feed[1]
    sheet = Sheet(tuple(drawn), {}, (), (), hints=words)
    counts = sheet.pin_counts()
    signals = {part.name for part in shown if part.facts.get("detail") == "signal"}
    rails = {
        node: source.volts
        for node, source in sources.items()
        if _is_rail(node, source.volts, source.part in signals, counts.get(node, 0), words)
    }
    for node, volts in words.rails.items():
        if counts.get(node):
            rails[node] = volts if volts is not None else rails.get(node, 1e-3)
    inputs = [node for node in (*sources, *words.inputs) if node not in rails]
    return replace(
        sheet,
        rails=rails,
        inputs=tuple(dict.fromkeys(inputs)),
        outputs=words.outputs,
        sources=sources,
    )
