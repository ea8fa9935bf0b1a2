"""A circuit that changes: from nothing fed, or from one state to another, as one netlist over time."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from shouldread.circuit import Flat
from shouldread.parts import Model, Part
from shouldread.quantities import Spread

STEP = "kit#step"  # a node that rises from 0 to 1 V when the change happens
CHANGE = Model("KITCHANGE", "SW", {"VT": 0.5, "VH": 0.0, "RON": 1e-3, "ROFF": 1e12})
KEPT = Model("KITKEPT", "SW", {"VT": -0.5, "VH": 0.0, "RON": 1e-3, "ROFF": 1e12})

SHARP = 0.2  # emission coefficient below which a diode is no junction but the clamp of a block
EASE = 3.0  # ohm: moves a clamp inside a block by some millivolts at most


def eased(flat: Flat) -> Flat:
    """Every clamp inside a block with a small resistance: ngspice's steps in time get stuck on its corner.

    One that stands at a pin of its block, as that of a supply, carries the board's amperes and stays as it is.
    """
    owners: dict[str, set[str]] = {}
    for part in flat.parts:
        for node in part.nodes:
            owners.setdefault(node, set()).add(flat.owner.get(part.name, part.name))

    def inside(part: Part) -> bool:
        return all(node == "0" or len(owners[node]) == 1 for node in part.nodes)

    return replace(flat, parts=tuple(_eased(part) if inside(part) else part for part in flat.parts))


def _eased(part: Part) -> Part:
    model = part.model
    if part.kind != "D" or model is None or model.params.get("N", 1.0) >= SHARP or model.params.get("RS", 0.0) > 0:
        return part
    return replace(part, model=replace(model, params={**model.params, "RS": EASE}))


def powered_up(flat: Flat, rise: float) -> Flat:
    """Every source rises from 0 within ``rise`` seconds; one with a wave of its own keeps it."""
    return replace(flat, parts=tuple(_ramped(part, 0.0, rise) for part in flat.parts))


def changed(before: Flat, after: Flat, start: float, rise: float) -> Flat:
    """One circuit that is ``before`` until ``start`` and ``after`` from then on.

    Sources of the same name ramp from one value to the other. A block that only one of the two has comes or goes
    at its pins. Whatever else differs stands there twice. Each is behind contacts of 1 mΩ that the change closes
    or opens.
    """
    old = {part.name: part for part in before.parts}
    new = {part.name: part for part in after.parts}
    parts = [*_blocks(before, new, KEPT, ("0", STEP), "old"), *_blocks(after, old, CHANGE, (STEP, "0"), "new")]
    placed = {part.name for part in parts}
    for name in [name for name in dict.fromkeys([*old, *new]) if name not in placed]:
        one, two = _at_zero(old.get(name), new.get(name))
        if one is not None and two is not None and one == two:
            parts.append(one)
        elif one is not None and two is not None and one.kind in "VI" and one.nodes == two.nodes:
            parts.append(_ramped(two, one.value.nominal if one.value else 0.0, rise, start))
        else:
            parts += [*_behind(one, KEPT, ("0", STEP), "old"), *_behind(two, CHANGE, (STEP, "0"), "new")]
    drive = Part("Vkit#step", "V", (STEP, "0"), Spread.exact(0.0), facts={"wave": ("PWL", _ramp(0, 1, rise, start))})
    nodes = tuple(dict.fromkeys([*before.nodes, *after.nodes, *(n for p in parts for n in p.nodes), STEP]))
    return replace(after, parts=(*parts, drive), nodes=nodes)


def _blocks(
    flat: Flat, other: Mapping[str, Part], model: Model, control: tuple[str, str], which: str
) -> Iterator[Part]:
    """The inner parts of blocks of which ``other`` has none, each node that others share behind a contact."""
    groups: dict[str, list[Part]] = {}
    for part in flat.parts:
        groups.setdefault(flat.owner[part.name], []).append(part)
    for owner, inner in groups.items():
        if len(inner) < 2 or any(part.name in other for part in inner):
            continue
        outside = {"0"} | {n for name, parts in groups.items() if name != owner for part in parts for n in part.nodes}
        shared = dict.fromkeys(n for part in inner for n in part.nodes if n != "0" and n in outside)
        own = {node: f"kit#{owner}#{node}#{which}" for node in shared}
        yield from (replace(part, nodes=tuple(own.get(n, n) for n in part.nodes)) for part in inner)
        for number, node in enumerate(shared, 1):
            yield Part(f"Skit#{owner}#{number}#{which}", "S", (node, own[node], *control), model=model)


def _at_zero(one: Part | None, two: Part | None) -> tuple[Part | None, Part | None]:
    """A current source that only one of the two has gives 0 A in the other: a contact before it would tear it off."""
    if one is None and two is not None and two.kind == "I":
        return replace(two, value=Spread.exact(0.0)), two
    if two is None and one is not None and one.kind == "I":
        return one, replace(one, value=Spread.exact(0.0))
    return one, two


def _ramped(part: Part, old: float, rise: float, start: float = 0.0) -> Part:
    if part.kind not in "VI" or "wave" in part.facts or part.value is None:
        return part
    new = part.value.nominal
    if old == new:
        return part
    return replace(part, facts={**part.facts, "wave": ("PWL", _ramp(old, new, rise, start))})


def _ramp(old: float, new: float, rise: float, start: float) -> tuple[float, ...]:
    held = (0.0, float(old)) if start > 0 else ()
    return (*held, start, float(old), start + rise, float(new))


def _behind(part: Part | None, model: Model, control: tuple[str, str], which: str) -> Iterator[Part]:
    """A part with a contact before its first pin."""
    if part is None:
        return
    own = f"kit#{part.name}#{which}"
    yield replace(part, name=f"{part.name}.{which}", nodes=(own, *part.nodes[1:]))
    yield Part(f"Skit#{part.name}#{which}", "S", (part.nodes[0], own, *control), model=model)
