"""A fault becomes edits of the netlist."""

import re
from collections.abc import Iterable, Mapping

from shouldread.errors import RequestError
from shouldread.faults.fault import Fault
from shouldread.faults.places import pin_name
from shouldread.faults.single import by_name
from shouldread.parts import KINDS, Bridge, Change, Edit, Lift, Mode, Part, Remove, Scale
from shouldread.quantities import spice_number

SHORT = 0.01  # ohm of a solder bridge


def fault_edits(fault: Fault, parts: Iterable[Part], severity: float | None = None) -> tuple[Edit, ...]:
    """What the fault changes. ``severity``: ohms or factor; None takes the fault's own, else the prior median."""
    known = by_name(parts)
    if fault.members:
        return tuple(
            e for m in fault.members for e in fault_edits(m, known.values(), severity if m.severity_range else None)
        )
    amount = severity if severity is not None else fault.severity
    if amount is None and fault.severity_range is not None:
        amount = fault.severity_range.median
    if fault.mode == "joint open":
        name, _, pin = fault.pins[0].rpartition(".")
        return (Lift(name, pin),)
    if fault.mode == "bridged":
        return (Bridge(fault.pins[0], fault.pins[1], SHORT, fault.name, fault.parts[0] if fault.parts else ""),)
    part = known[fault.parts[0].casefold()]
    if part.block is not None:
        rows = next(e.edits for e in part.block.effects if e.name == fault.mode)
        return tuple(_inner(part, fault, row, amount) for row in rows)
    mode = next(m for m in KINDS[part.kind].detail_of(part).modes if m.name == fault.mode)
    return tuple(e for row in mode.edits for e in _own(part, mode, fault, row, amount))


def _own(part: Part, mode: Mode, fault: Fault, row: tuple[object, ...], amount: float | None) -> tuple[Edit, ...]:
    verb, *rest = row
    figures = [amount if r == "severity" else r for r in rest]
    if verb == "lift":
        if len(figures) == 2 and part.node_at(str(figures[0])) != part.node_at(str(figures[1])):
            return ()
        if len(figures) == 2:  # stays with its mate: bulk and source leave together
            return (
                Bridge(f"{part.name}.{figures[0]}", f"{part.name}.{figures[1]}", 1e-3, f"{fault.name} tie", part.name),
                Lift(part.name, str(figures[0])),
            )
        return (Lift(part.name, str(figures[0])),)
    if verb == "remove":
        return (Remove(part.name),)
    if verb == "bridge":
        a, b = (f"{part.name}.{pin_name(part, str(p))}" for p in figures[:2])
        return (Bridge(a, b, _figure(figures[2]), fault.name, part.name),)
    what = "dcr" if part.kind == "L" and figures[0] == "value" else str(figures[0])
    if verb == "scale":
        return (Scale(part.name, what, _figure(figures[1])),)
    return (Change(part.name, what, _figure(figures[1])),)


def _inner(part: Part, fault: Fault, row: tuple[object, ...], amount: float | None) -> Edit:
    """An effect row on a block's inner parts, pins and nodes."""
    verb, *rest = row
    rest = [amount if r == "severity" else r for r in rest]

    def place(text: object) -> str:
        return f"{part.name}.{text}"

    if verb == "lift":
        return Lift(place(rest[0]), str(rest[1])) if len(rest) == 2 else Lift(part.name, str(rest[0]))
    if verb == "remove":
        return Remove(place(rest[0]))
    if verb == "bridge":
        return Bridge(place(rest[0]), place(rest[1]), _figure(rest[2]), fault.name, part.name)
    if verb == "set":
        text = str(rest[2])
        if hit := re.fullmatch(r"x([\d.eE+-]+)", text):
            return Scale(place(rest[0]), str(rest[1]), float(hit[1]))
        if rest[2] is amount and amount is not None:
            return Scale(place(rest[0]), str(rest[1]), amount)
        return Change(place(rest[0]), str(rest[1]), _figure(rest[2]))
    raise RequestError(
        f"{part.name} {fault.mode}: no such edit {verb!r}; write lift, bridge, set or remove", value=verb
    )


def _figure(value: object) -> float:
    return float(value) if isinstance(value, int | float) else spice_number(str(value))


Parts = Mapping[str, Part]
