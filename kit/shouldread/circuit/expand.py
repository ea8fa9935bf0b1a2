"""Flatten: every subcircuit opened, every edit applied, cold or fed."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from shouldread.circuit.flat import Flat
from shouldread.circuit.nouns import State
from shouldread.circuit.remembered import Remembered
from shouldread.errors import UnknownNameError
from shouldread.parts import Bridge, Change, Drive, Edit, Junction, Lift, Part, Remove, Scale
from shouldread.quantities import Spread

if TYPE_CHECKING:
    from shouldread.circuit.circuit import Circuit

COLD_PIN = Spread(math.sqrt(5e3 * 5e6), 5e3, 5e6, "log-uniform")  # what an IC pin shows when nobody knows; assumed


@dataclass(slots=True)
class _Bench:
    """A netlist being worked on: parts by folded name, where each pin is now, and which pins a terminal serves."""

    parts: dict[str, Part]
    owner: dict[str, str]
    places: dict[str, str]
    spelled: dict[str, str]
    bridges: list[Bridge] = field(default_factory=list)
    junctions: list[Junction] = field(default_factory=list)
    drives: list[Drive] = field(default_factory=list)
    removed: set[str] = field(default_factory=set)
    terminals: dict[tuple[str, int], str] = field(default_factory=dict)

    def copy(self) -> "_Bench":
        """Another one to work on; parts themselves never change."""
        return _Bench(
            dict(self.parts),
            dict(self.owner),
            dict(self.places),
            dict(self.spelled),
            list(self.bridges),
            list(self.junctions),
            list(self.drives),
            set(self.removed),
            dict(self.terminals),
        )

    def place(self, text: str) -> str:
        """The node of ``NODE`` or ``PART.pin``."""
        key = text.casefold()
        if key in ("0", "gnd", "ground"):
            return "0"
        if key in self.spelled:
            return self.spelled[key]
        if key in self.places:
            return self.places[key]
        raise UnknownNameError("place", text, [*self.spelled.values(), *self.places])


def state_edits(circuit: "Circuit", state: State) -> tuple[Edit, ...]:
    """What a state changes: values, switches, absent feeds."""
    edits: list[Edit] = []
    for name, value in state.sets.items():
        part = circuit.part(name)
        if value == "absent":
            edits.append(Remove(part.name))
        elif part.kind == "S":
            edits.append(Change(part.name, "held", 1.0 if value else 0.0))
        else:
            edits.append(Change(part.name, "value", float(value)))
    return tuple(edits)


def flatten(circuit: "Circuit", edits: Iterable[Edit] = (), *, cold: bool = False) -> Flat:
    """The circuit as primitives with its own edits and the given ones applied.

    ``cold``: sources and gains out (open), blocks of the kit replaced by what their pins show to ground.
    Raises UnknownNameError when an edit names a part, pin or node that is not there.
    """
    every = (*circuit.edits, *edits)
    lifts = tuple(e for e in every if isinstance(e, Lift))
    bench = _OPENED.get(circuit.netlist, (lifts, cold), lambda: _opened(circuit, lifts, cold)).copy()
    for edit in every:
        _apply(bench, edit)
    if cold:
        _cool(bench)
    parts = tuple(bench.parts.values())
    made = [(b.a, b.b) for b in bench.bridges] + [(j.a, j.b) for j in bench.junctions]
    made += [(d.a, d.b) for d in bench.drives]
    inner = [n for p in parts for n in p.nodes] + [n for pair in made for n in pair]
    nodes = tuple(dict.fromkeys(["0", *circuit.nodes, *inner, *bench.places.values()]))  # a lifted pin with nothing on
    return Flat(
        parts,
        tuple(bench.bridges),
        tuple(bench.junctions),
        tuple(bench.drives),
        bench.owner,
        nodes,
        bench.places,
        frozenset(bench.removed),
        bench.terminals,
    )


_OPENED: Remembered[_Bench] = Remembered(64)


def _opened(circuit: "Circuit", lifts: tuple[Lift, ...], cold: bool) -> _Bench:
    """All parts, each lifted pin on a node of its own before a block is opened."""
    bench = _Bench({}, {}, {}, {n.casefold(): n for n in circuit.nodes})
    for part in circuit.netlist.values():
        nodes = list(part.nodes)
        for lift in lifts:
            if lift.part.casefold() == part.name.casefold():
                nodes[_pin_index(part, lift.pin)] = f"{part.name}.{lift.pin}*"
        placed = part if tuple(nodes) == part.nodes else replace(part, nodes=tuple(nodes))
        for number, (pin, node) in enumerate(zip(part.pins, nodes, strict=True), 1):
            bench.places[f"{part.name}.{pin}".casefold()] = node
            bench.places.setdefault(f"{part.name}.{number}".casefold(), node)
        pins = tuple(f"{part.name}.{pin}" for pin in part.pins)
        _open(bench, placed, part.name, part.name, cold, pins)
    return bench


def _pin_index(part: Part, pin: str) -> int:
    at = next((i for i, p in enumerate(part.pins) if p.casefold() == pin.casefold()), None)
    at = int(pin) - 1 if at is None and pin.isdigit() else at
    if at is None or not 0 <= at < len(part.nodes):
        raise UnknownNameError("pin", pin, part.pins, part.name)
    return at


def _open(bench: _Bench, part: Part, name: str, owner: str, cold: bool, pins: tuple[str, ...]) -> None:
    """Put a part in; a block becomes its inner parts, each named ``OWNER.INNER``. ``pins``: of the owner, or ""."""
    bench.owner[name] = owner
    if part.block is None:
        bench.terminals |= {(name, i): pin for i, pin in enumerate(pins) if pin}
        if name != part.name:
            facts = dict(part.facts)
            if "sense" in facts:
                facts["sense"] = f"{name.rpartition('.')[0]}.{facts['sense']}"
            part = replace(part, name=name, facts=facts)
        bench.parts[name.casefold()] = part
        return
    if cold and part.block.ours:
        _cold_pins(bench, part, name, owner)
        return
    inside = {pin.casefold(): node for pin, node in zip(part.block.pins, part.nodes, strict=True)}

    def node(text: str) -> str:
        if text == "0":
            return "0"
        return inside.setdefault(text.casefold(), f"{name}.{text}")

    served = {pin.casefold(): top for pin, top in zip(part.block.pins, pins, strict=True)}
    for inner in part.block.parts:
        wired = replace(inner, nodes=tuple(node(n) for n in inner.nodes))
        _open(
            bench, wired, f"{name}.{inner.name}", owner, cold, tuple(served.get(n.casefold(), "") for n in inner.nodes)
        )
    for text, at in inside.items():
        bench.spelled.setdefault(f"{name}.{text}".casefold(), at)
        bench.spelled.setdefault(at.casefold(), at)


def _cold_pins(bench: _Bench, part: Part, name: str, owner: str) -> None:
    """A block when nothing is fed: each pin's ohms to ground beside a diode from ground."""
    block = part.block
    assert block is not None
    own = part.facts.get("cold", {})
    told: Mapping[str, object] = own if isinstance(own, dict) else {}
    grounds = [node for pin, node in zip(block.pins, part.nodes, strict=True) if block.pin_facts[pin].role == "ground"]
    ground = grounds[0] if grounds else "0"
    for pin, node in zip(block.pins, part.nodes, strict=True):
        facts = block.pin_facts[pin]
        if facts.role == "ground" or (facts.cold_ohms is None and not facts.cold_diode):
            continue
        ohms = told.get(pin)
        spread = ohms if isinstance(ohms, Spread) else (facts.cold_ohms or COLD_PIN)
        bench.bridges.append(Bridge(node, ground, spread.nominal, f"cold {owner}.{pin}", owner, spread))
        if facts.cold_diode:
            bench.junctions.append(Junction(ground, node, f"cold {owner}.{pin}", owner=owner))


def _apply(bench: _Bench, edit: Edit) -> None:
    if isinstance(edit, Lift):
        _lift(bench, edit)
    elif isinstance(edit, Remove):
        gone = [
            key
            for key, part in bench.parts.items()
            if edit.part.casefold() in (key, bench.owner[part.name].casefold())
        ]
        _present(bench, edit.part, gone)
        for key in gone:
            bench.removed.add(bench.parts.pop(key).name)
        bench.removed.add(edit.part)
        bench.bridges = [b for b in bench.bridges if b.owner.casefold() != edit.part.casefold()]
        bench.junctions = [j for j in bench.junctions if j.owner.casefold() != edit.part.casefold()]
    elif isinstance(edit, Change | Scale):
        key = edit.part.casefold()
        if key in bench.parts:
            bench.parts[key] = _changed(bench.parts[key], edit)
        elif not any(owner.casefold() == key for owner in bench.owner.values()) and edit.part not in bench.removed:
            raise UnknownNameError("part", edit.part, [p.name for p in bench.parts.values()])
    elif isinstance(edit, Bridge | Junction) and edit.owner in bench.removed:
        return  # what is off the board takes its short along
    elif isinstance(edit, Bridge):
        bench.bridges.append(replace(edit, a=bench.place(edit.a), b=bench.place(edit.b)))
    elif isinstance(edit, Junction):
        bench.junctions.append(replace(edit, a=bench.place(edit.a), b=bench.place(edit.b)))
    else:
        bench.drives.append(replace(edit, a=bench.place(edit.a), b=bench.place(edit.b)))


def _present(bench: _Bench, name: str, hits: list[str]) -> None:
    if not hits and not any(o.casefold() == name.casefold() for o in bench.owner.values()):
        raise UnknownNameError("part", name, sorted(set(bench.owner.values())))


def _lift(bench: _Bench, edit: Lift) -> None:
    """Move the pin of an inner part to a node of its own (pins of the circuit's parts left before opening)."""
    key = edit.part.casefold()
    if key not in bench.parts:
        if f"{edit.part}.{edit.pin}".casefold() not in bench.places and edit.part not in bench.removed:
            raise UnknownNameError("part", edit.part, [p.name for p in bench.parts.values()])
        return
    part = bench.parts[key]
    if "." in part.name:
        nodes = list(part.nodes)
        nodes[_pin_index(part, edit.pin)] = f"{part.name}.{edit.pin}*"
        bench.parts[key] = replace(part, nodes=tuple(nodes))


def _changed(part: Part, edit: Change | Scale) -> Part:
    """A part with one of its numbers changed or scaled."""
    what = edit.what

    def new(old: float) -> float:
        return old * edit.factor if isinstance(edit, Scale) else edit.value

    if what == "value":
        old = part.value.nominal if part.value else 0.0
        part = replace(part, facts={k: v for k, v in part.facts.items() if k != "wave"})
        if isinstance(edit, Scale) and part.value is not None:
            return replace(part, value=part.value.around(new(old)))
        return replace(part, value=Spread.exact(new(old)))
    if what in part.facts and isinstance(part.facts[what], Spread):
        spread = part.facts[what]
        assert isinstance(spread, Spread)
        return replace(part, facts={**part.facts, what: spread.around(new(spread.nominal))})
    if part.model is not None and (what in part.model.params or what.isupper()):
        params = {**part.model.params, what: new(part.model.params.get(what, 0.0))}
        return replace(part, model=replace(part.model, params=params))
    return replace(part, settings={**part.settings, what: new(part.settings.get(what, 0.0))})


def _cool(bench: _Bench) -> None:
    for key, part in list(bench.parts.items()):
        if part.kind in "VIEGB":
            bench.removed.add(part.name)
            del bench.parts[key]
