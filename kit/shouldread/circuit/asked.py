"""What a question is about: the board, its state, and the edits that fault, condition and meter make."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shouldread.circuit.expand import flatten, state_edits
from shouldread.circuit.flat import Flat
from shouldread.circuit.nouns import State
from shouldread.faults import Fault, fault_edits
from shouldread.parts import Bridge, Edit

if TYPE_CHECKING:
    from shouldread.circuit.circuit import Circuit

COLD = "cold"
METER = "meter"  # the name of the bridge that a meter's input is


@dataclass(frozen=True, slots=True)
class Asked:
    """A board with its conditions done, the state it is in, and the edits of fault and meter."""

    board: "Circuit"
    state: State
    edits: tuple[Edit, ...]

    @property
    def flat(self) -> Flat:
        """The board as primitives in that state, with these edits."""
        cold = self.state.name == COLD
        own = () if cold else state_edits(self.board, self.state)
        return flatten(self.board, (*own, *self.edits), cold=cold)


def asked(
    circuit: "Circuit",
    *,
    state: str | None = None,
    fault: str | Fault | None = None,
    condition: str | None = None,
    meter_at: str | tuple[str, str] | None = None,
    meter_ohms: float = 10e6,
    edits: Iterable[Edit] = (),
) -> Asked:
    """Resolve all names of a question. Raises UnknownNameError with the nearest."""
    board = circuit if condition is None else circuit.with_condition(condition)
    every = tuple(edits)
    if fault is not None:
        every += fault_edits(board.fault(fault)[0], board.netlist.values())
    if meter_at is not None:
        red, black = (meter_at, "0") if isinstance(meter_at, str) else meter_at
        every += (Bridge(board.node(red), board.node(black), meter_ohms, METER),)
    return Asked(board, board.state(state), every)
