"""What of a fault stands on a board where something was done already, or where nothing is fed."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from shouldread.parts import Bridge, Change, Edit, Lift, Remove, Scale

if TYPE_CHECKING:
    from shouldread.circuit.circuit import Circuit

_ON_PART = (Lift, Scale, Change, Remove)


def standing(circuit: "Circuit", edits: Sequence[Edit], *, cold: bool) -> tuple[Edit, ...]:
    """The edits of a fault on a board where something was done already.

    What was taken out takes its fault along. A lead lifted by hand is not the joint that failed: a two-pin part
    that is open stays open when its first leg is lifted. With nothing fed, an IC is what its pins show: what went
    wrong inside is not there, a short between its pins is.
    """
    gone = {e.part.casefold() for e in circuit.edits if isinstance(e, Remove)}
    lifted = {(e.part.casefold(), e.pin.casefold()) for e in circuit.edits if isinstance(e, Lift)}
    out: list[Edit] = []
    for edit in edits:
        owner = edit.owner if isinstance(edit, Bridge) else edit.part if isinstance(edit, _ON_PART) else ""
        if owner.partition(".")[0].casefold() in gone or (cold and _inside(circuit, edit)):
            continue
        if isinstance(edit, Lift) and (edit.part.casefold(), edit.pin.casefold()) in lifted:
            pins = circuit.part(edit.part).pins
            if len(pins) == 2:
                edit = Lift(edit.part, pins[1] if edit.pin == pins[0] else pins[0])
        out.append(edit)
    return tuple(out)


def _inside(circuit: "Circuit", edit: Edit) -> bool:
    """Whether an edit reaches inside a block of the kit's own."""

    def within(place: str) -> bool:
        name, dot, inner = place.partition(".")
        part = circuit.netlist.get(name)
        if not dot or part is None or part.block is None or not part.block.ours:
            return False
        return inner.casefold() not in (pin.casefold() for pin in part.pins)

    if isinstance(edit, Bridge):
        return within(edit.a) or within(edit.b)
    return isinstance(edit, _ON_PART) and within(edit.part)
