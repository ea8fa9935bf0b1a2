"""A fault becomes edits of the netlist."""

import re
from collections.abc import Iterable, Mapping

from shouldread.errors import RequestError
from shouldread.faults.fault import Fault
from shouldread.faults.single import by_name
from shouldread.parts import KINDS, Bridge, Change, Edit, Lift, Part, Remove, Scale
from shouldread.quantities import spice_number

SHORT = 0.01  # ohm of a solder bridge
TIE = 1e-3  # ohm that keeps two pins of a package together when they leave their pad


def fault_edits(
    fault: Fault, parts: Iterable[Part] | Mapping[str, Part], severity: float | None = None
) -> tuple[Edit, ...]:
    """What the fault changes. ``severity``: ohms or factor; None takes the fault's own, else the prior median.

    ``parts`` may be sorted ``by_name`` once for many.
    """
    known = parts if isinstance(parts, Mapping) else by_name(parts)
    if fault.members:
        return tuple(e for m in fault.members for e in fault_edits(m, known, severity if m.severity_range else None))
    if fault.mode == "joint open":
        name, _, pin = fault.pins[0].rpartition(".")
        return (Lift(name, pin),)
    if fault.mode == "bridged":
        return (Bridge(fault.pins[0], fault.pins[1], SHORT, fault.name, fault.parts[0] if fault.parts else ""),)
    amount = severity if severity is not None else fault.severity
    if amount is None and fault.severity_range is not None:
        amount = fault.severity_range.median
    part = known[fault.parts[0].casefold()]
    if part.block is not None:
        rows = next(effect.edits for effect in part.block.effects if effect.name == fault.mode)
        return tuple(_inner(part, fault, row, amount) for row in rows)
    mode = next(m for m in KINDS[part.kind].detail_of(part).modes if m.name == fault.mode)
    return tuple(edit for row in mode.edits for edit in _own(part, fault, row, amount))


def _own(part: Part, fault: Fault, row: tuple[object, ...], amount: float | None) -> tuple[Edit, ...]:
    """A row of a kind's mode on the part itself."""
    verb, *rest = row
    figures = [amount if item == "severity" else item for item in rest]
    if verb == "lift" and len(figures) == 2:
        return _with_mate(part, fault, str(figures[0]), str(figures[1]))
    if verb == "lift":
        return (Lift(part.name, str(figures[0])),)
    if verb == "remove":
        return (Remove(part.name),)
    if verb == "bridge":
        a, b = (f"{part.name}.{pin}" for pin in figures[:2])
        return (Bridge(a, b, _figure(figures[2]), fault.name, part.name),)
    if verb == "scale":
        return (Scale(part.name, str(figures[0]), _figure(figures[1])),)
    return (Change(part.name, str(figures[0]), _figure(figures[1])),)


def _with_mate(part: Part, fault: Fault, pin: str, mate: str) -> tuple[Edit, ...]:
    """A pin that its package ties to another leaves the pad with it, and stays tied to it."""
    if part.node_at(pin) is None or part.node_at(pin) != part.node_at(mate):
        return ()
    tie = Bridge(f"{part.name}.{pin}", f"{part.name}.{mate}", TIE, f"{fault.name} tie", part.name)
    return (tie, Lift(part.name, pin))


def _inner(part: Part, fault: Fault, row: tuple[object, ...], amount: float | None) -> Edit:
    """An effect row on a block's inner parts, pins and nodes."""
    verb, *rest = row

    def place(text: object) -> str:
        return f"{part.name}.{text}"

    if verb == "lift":
        return Lift(place(rest[0]), str(rest[1])) if len(rest) == 2 else Lift(part.name, str(rest[0]))
    if verb == "remove":
        return Remove(place(rest[0]))
    if verb == "bridge":
        ohms = amount if rest[2] == "severity" else rest[2]
        return Bridge(place(rest[0]), place(rest[1]), _figure(ohms), fault.name, part.name)
    if verb == "set" and rest[2] == "severity":
        return Scale(place(rest[0]), str(rest[1]), _figure(amount))
    if verb == "set" and (hit := re.fullmatch(r"x([\d.eE+-]+)", str(rest[2]))):
        return Scale(place(rest[0]), str(rest[1]), float(hit[1]))
    if verb == "set":
        return Change(place(rest[0]), str(rest[1]), _figure(rest[2]))
    raise RequestError(
        f"{part.name} {fault.mode}: no such edit {verb!r}; write lift, bridge, set or remove", value=verb
    )


def _figure(value: object) -> float:
    return float(value) if isinstance(value, int | float) else spice_number(str(value))
