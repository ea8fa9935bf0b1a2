"""A circuit written back as a flat netlist that ngspice runs unmodified, with state, fault, condition and meter."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from shouldread.circuit.asked import Asked, asked
from shouldread.circuit.flat import Flat
from shouldread.circuit.islands import HOLD, islands
from shouldread.circuit.spice_names import node_names, part_names
from shouldread.faults import Fault
from shouldread.parts import KINDS, Edit, Part

if TYPE_CHECKING:
    from shouldread.circuit.circuit import Circuit

# abstol: a current of amperes through siemens is rounded at 1e-13 A (24 V x 50 S x 2.2e-16), so nothing below that
# settles; 1e-12 A is also ngspice's default, and a thousandth of the 1 nA that two engines are held to.
OPTIONS = ".options reltol=1e-9 vntol=1e-10 abstol=1e-12 itl1=500"


class Reached(Protocol):
    """Who knows where switch elements with memory come to stand (the solver, a room further on)."""

    def __call__(self, question: Asked) -> Mapping[str, int]:
        """1 for every switch that is on, by name (``U1.S1``)."""


_told_by: list[Reached] = []


def switches_from(reached: Reached) -> None:
    """Say who is asked for the switches when a netlist is written without ``bits``."""
    _told_by[:] = [reached]


def to_spice(
    circuit: "Circuit",
    *,
    state: str | None = None,
    fault: str | Fault | None = None,
    condition: str | None = None,
    meter_at: str | tuple[str, str] | None = None,
    meter_ohms: float = 10e6,
    bits: Mapping[str, int] | None = None,
    edits: Iterable[Edit] = (),
) -> str:
    """The netlist text of the circuit as asked; every number finite, no subcircuit, no parameter, no control lines.

    ``bits``: switch elements written ON or OFF (``U1.S1`` -> 1); None: as they are reached from power-up. Raises
    UnknownNameError.
    """
    question = asked(
        circuit,
        state=state,
        fault=fault,
        condition=condition,
        meter_at=meter_at,
        meter_ohms=meter_ohms,
        edits=edits,
    )
    board = question.board
    if bits is None and _told_by and any(part.kind == "S" for part in question.flat.parts):
        bits = _told_by[0](question)
    return deck(question.flat, board.title or board.name, bits or {}).text(".op")


@dataclass(frozen=True, slots=True)
class Deck:
    """A flat circuit as SPICE lines, and what each node and primitive is called there (``U1.g`` -> ``U1_g``)."""

    lines: tuple[str, ...]
    nodes: Mapping[str, str]
    parts: Mapping[str, str]

    def text(self, *commands: str) -> str:
        """The whole netlist, with what is to be run."""
        return "\n".join([*self.lines, OPTIONS, *commands, ".end", ""])


def deck(flat: Flat, title: str, bits: Mapping[str, int]) -> Deck:
    """A flat circuit written as SPICE lines. Bridges become ``Rbridge1`` ... in their order."""
    nodes, parts = node_names(flat), part_names(flat)
    rows = ["* " + re.sub(r"\s+", " ", "".join(ch for ch in title if ch.isprintable()))[:200]]
    for part in flat.parts:
        rows += _rows(part, nodes, parts, bits)
    for number, bridge in enumerate(flat.bridges, 1):
        rows.append(f"Rbridge{number} {nodes[bridge.a]} {nodes[bridge.b]} {bridge.ohms!r}")
    for number, j in enumerate(flat.junctions, 1):
        rows.append(f"Djunction{number} {nodes[j.a]} {nodes[j.b]} DJUNCTION{number}")
        rows.append(f".model DJUNCTION{number} D(IS={j.is_!r} N={j.n!r})")
    for number, d in enumerate(flat.drives, 1):
        rows += [
            f"Vdrive{number} kit#drive{number} {nodes[d.b]} {d.volts!r}",
            f"Rdrive{number} kit#drive{number} {nodes[d.a]} {d.ohms!r}",
        ]
    rows += [f"Rhold{number} {nodes[node]} 0 {HOLD!r}" for number, node in enumerate(islands(flat), 1)]
    return Deck(tuple(rows), nodes, parts)


def _rows(part: Part, plain: Mapping[str, str], names: Mapping[str, str], bits: Mapping[str, int]) -> list[str]:
    name, nodes = names[part.name], " ".join(plain[n] for n in part.nodes)
    value = part.value.nominal if part.value is not None else 0.0
    if part.kind == "L":
        ohms = getattr(part.facts.get("dcr"), "nominal", 0.0)
        if ohms > 0:
            middle = f"kit#{name}_dcr"
            return [
                f"{name} {plain[part.nodes[0]]} {middle} {value!r}",
                f"R{name}_dcr {middle} {plain[part.nodes[1]]} {ohms!r}",
            ]
    if part.kind in "VI" and "wave" in part.facts:
        return [f"{name} {nodes} DC {value!r} {_wave(part.facts['wave'])}"]
    if part.kind in "RCLVIEG":
        return [f"{name} {nodes} {value!r}"]
    if part.kind == "B":
        a, b, *rest = (plain[n] for n in part.nodes)
        sense = names[str(part.facts["sense"])]
        eta, least = part.settings["eta"], part.settings["least"]
        out, feed = f"V({rest[0]},{rest[1]})", f"V({rest[2]},{rest[3]})"
        law = f"max({out},0)*I({sense})/({eta!r}*max(max({feed},{out}/{eta!r}),{least!r}))-I({sense})"
        return [f"{name} {a} {b} I={law}"]
    return _modelled(part, name, nodes, bits)


def _wave(wave: object) -> str:
    """``("PULSE", (0.0, 5.0, 1e-3))`` as SPICE writes it."""
    assert isinstance(wave, tuple)
    word, numbers = wave
    return f"{word}({' '.join(map(repr, numbers))})"


def _modelled(part: Part, name: str, nodes: str, bits: Mapping[str, int]) -> list[str]:
    model = f"MOD_{name}"
    assert part.model is not None
    numbers = {k: v for k, v in part.model.params.items() if v == v and abs(v) != float("inf")}
    tail = ""
    if part.kind == "S":
        on = bits.get(part.name, int(part.settings.get("held", part.settings.get("on", 0.0))))
        tail = " ON" if on else " OFF"
        if "held" in part.settings:
            numbers |= {"VT": -1e9 if on else 1e9, "VH": 0.0}
    elif part.kind == "M":
        tail = "".join(f" {k}={part.settings[k]!r}" for k in ("W", "L", "M") if k in part.settings)
        numbers = {"LEVEL": 1, **numbers}
    elif part.settings.get("AREA", 1.0) != 1.0 or part.settings.get("M", 1.0) != 1.0:
        tail = f" {part.settings.get('AREA', 1.0) * part.settings.get('M', 1.0)!r}"
    assert part.kind in KINDS
    text = " ".join(f"{k}={v!r}" for k, v in numbers.items())
    return [f"{name} {nodes} {model}{tail}", f".model {model} {part.model.type}({text})"]
