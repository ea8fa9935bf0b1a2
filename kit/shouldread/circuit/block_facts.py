"""What a model file states of its block, and what a circuit file states of one instance."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from shouldread.parts import Block, Effect, Part, PinFacts, Severity
from shouldread.quantities import read_spread


def read_block_facts(block: Block, facts: Mapping[str, Any]) -> Block:
    """A block with what its model file states: pins, effects, spreads of inner parts, rate."""
    pins = {name: _pin(name, facts.get("pins", {}).get(name, {})) for name in block.pins}
    spreads = {str(k): str(v) for k, v in facts.get("spreads", {}).items()}
    return replace(
        spread_in(block, spreads),
        pin_facts=pins,
        effects=tuple(_effect(row) for row in facts.get("effects", ())),
        about=str(facts.get("about", "")),
        rate=float(facts.get("rate", 0.0)),
    )


def _pin(name: str, row: Mapping[str, Any]) -> PinFacts:
    cold = row.get("cold")
    ohms = read_spread(str(cold), "Ω") if cold not in (None, "open") else None
    return PinFacts(
        name, str(row.get("role", "")), str(row.get("side", "")), ohms, cold != "open" and bool(row.get("diode", True))
    )


def _effect(row: Mapping[str, Any]) -> Effect:
    severity = row.get("severity")
    graded = None
    if severity:
        unit = "ohm" if "ohms" in severity else "factor"
        low, high = (float(x) for x in severity["ohms" if unit == "ohm" else "factor"])
        graded = Severity.between("ohm" if unit == "ohm" else "factor", low, high)
        graded = replace(graded, median=float(severity.get("median", graded.median)))
    return Effect(
        str(row["name"]),
        tuple(tuple(e) for e in row["edits"]),
        float(row["share"]),
        str(row.get("source", "")),
        graded,
    )


def spread_in(block: Block, spreads: Mapping[str, str]) -> Block:
    """The block with inner parts off by as much as told (``{"V1": "8 %"}``). Raises QuantityError."""
    parts = tuple(
        replace(p, value=read_spread(f"{p.value.nominal!r} ± {spreads[p.name]}"))
        if p.name in spreads and p.value
        else p
        for p in block.parts
    )
    return replace(block, parts=parts)


def with_tolerance(part: Part, tolerance: str) -> Block | None:
    """The block of a part with the first of its unsure numbers off by ``tolerance``: a supply's volts, a regulator's
    reference. None for a part without such a number. Raises QuantityError.
    """
    unsure = [p.name for p in part.block.parts if p.value is not None and p.value.law != "exact"] if part.block else []
    return spread_in(part.block, {unsure[0]: tolerance}) if part.block is not None and unsure else None


def can_be_absent(part: Part) -> bool:
    """Whether a part may be taken away by a state: a source, or a block that can fail by being absent."""
    if part.block is not None:
        return any(effect.name == "absent" for effect in part.block.effects)
    return part.kind in "VI"
