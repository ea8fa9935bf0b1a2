"""What an event's text says, read anew: of rails by whatever names, of a circuit by its own."""

from shouldread.casebook.event import Event
from shouldread.circuit import Circuit
from shouldread.meter import Observation, Reading, read_readings

READ = ("reading", "observation")


def items_of(event: Event, circuit: Circuit | None) -> tuple[Reading | Observation, ...]:
    """The readings and observations of an event, none for an event of another kind."""
    if event.kind not in READ:
        return ()
    of_rails = bool(event.body.get("rails"))
    return read_readings(str(event.body["text"]), circuit=None if of_rails else circuit)
