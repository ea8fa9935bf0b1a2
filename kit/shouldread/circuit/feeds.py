"""What feeds a circuit: V sources and bench supplies, and the volts that they give."""

from shouldread.circuit.nouns import State
from shouldread.parts import Part
from shouldread.quantities import Spread

SUPPLY = "SUPPLY"  # the block that feeds and shows its amps


def is_supply(part: Part) -> bool:
    """Whether a part feeds the circuit and can tell what it delivers: a V source or a bench supply."""
    return part.kind == "V" or (part.block is not None and part.block.name.upper() == SUPPLY)


def feed_of(part: Part) -> Spread | None:
    """The volts that a feed is made for, as unsure as its file says; None for what is no feed."""
    if part.block is None or not is_supply(part):
        return part.value if part.kind == "V" else None
    volts = float({**part.block.params, **part.settings}["vset"])
    inner = next((p.value for p in part.block.parts if p.kind == "V" and p.value is not None), None)
    return Spread.exact(volts) if inner is None else inner.around(volts)


def fed_in(part: Part, state: State) -> float:
    """The nominal volts of a feed in a state; 0 where it is absent, and for what is no feed."""
    spread = feed_of(part)
    told = next((v for k, v in state.sets.items() if k.casefold() == part.name.casefold()), None)
    if spread is None or isinstance(told, str):
        return 0.0
    return spread.nominal if told is None else float(told)
