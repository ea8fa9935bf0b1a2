"""What an event says: its words in one line, and its readings, read anew on the circuit that can place them."""

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from shouldread.casebook.event import Event
from shouldread.casebook.form import KINDS, PRIVATE
from shouldread.casebook.nouns import Value
from shouldread.circuit import Circuit, load_circuit
from shouldread.errors import ReadingError
from shouldread.meter import Observation, Reading, read_readings
from shouldread.quantities import say

READ = ("reading", "observation")
AFTER = "after repair"
UNITS = {"volts": "V", "limit": "A", "amps": "A", "minutes": "min"}
_NAMED = {"photo": "about", "circuit": "name", "traced": "name"}  # the main thing is a long text or a fingerprint
Item = Reading | Observation


def items_of(event: Event, circuit: Circuit | None) -> tuple[Item, ...]:
    """The readings and observations of an event, none for an event of another kind.

    What was seen may be said in any words; those that the grammar does not know tell a diagnosis nothing.
    """
    if event.kind not in READ:
        return ()
    try:
        return _read(event, circuit)
    except ReadingError:
        if event.kind == "observation":
            return ()
        raise


def _read(event: Event, circuit: Circuit | None) -> tuple[Item, ...]:
    of_rails = bool(event.body.get("rails"))
    return read_readings(str(event.body["text"]), circuit=None if of_rails else circuit)


def circuit_in(event: Event) -> Circuit:
    """The circuit that an event puts on the bench."""
    return circuit_of(str(event.body["text"]))


@lru_cache(maxsize=64)  # a circuit never changes, and every reading of a case asks for the same one
def circuit_of(text: str) -> Circuit:
    """The circuit of a netlist that stands in a case."""
    return load_circuit(text if "\n" in text else text + "\n")


def placed(events: Iterable[Event]) -> Iterator[tuple[Event, tuple[Item, ...], Circuit | None]]:
    """Every reading and observation with its items and the circuit that they are of.

    That is the newest circuit where it knows the places, else the one that was on the bench when they were
    taken: a second fault on the same board is another stage in the same case. None: read by name only.
    """
    known = list(events)
    stages = [event for event in known if event.kind == "circuit"]
    newest = circuit_in(stages[-1]) if stages else None
    earlier: Event | None = None
    for event in known:
        if event.kind == "circuit":
            earlier = event
        elif event.kind in READ:
            yield event, *_on(event, newest, earlier)


def _on(event: Event, newest: Circuit | None, earlier: Event | None) -> tuple[tuple[Item, ...], Circuit | None]:
    if newest is None or event.body.get("rails"):
        return items_of(event, None), None
    try:
        return _read(event, newest), newest
    except ReadingError:
        before = circuit_in(earlier) if earlier is not None else None
    try:
        return _read(event, before), before
    except ReadingError:
        return items_of(event, None), None


def values_of(event: Event, items: Iterable[Item]) -> tuple[Value, ...]:
    """The readings of an event as the casebook compares them (those after the repair are not of the fault)."""
    good = bool(event.body.get("good"))
    return tuple(
        Value(r.place if not r.to else f"{r.place} to {r.to}", r.setting, r.state or "", r.low, r.high, good)
        for r in items
        if isinstance(r, Reading) and AFTER not in r.conditions
    )


def words_of(event: Event) -> str:
    """What the event says, in one line: the main thing first, then the details that were given (no private ones)."""
    body, order = event.body, KINDS[event.kind]
    if event.kind in _NAMED:
        return str(body.get(_NAMED[event.kind]) or event.kind)
    first = _said(order[0], body[order[0]])
    more = [key if body[key] is True else f"{key} {_said(key, body[key])}" for key in order[1:] if _is_told(body, key)]
    return f"{first} ({', '.join(more)})" if first and more else first or ", ".join(more)


def _is_told(body: Mapping[str, object], key: str) -> bool:
    return key not in PRIVATE and body.get(key) not in (None, "", False)


def _said(key: str, value: object) -> str:
    if isinstance(value, int | float) and key in UNITS:
        return say(value, UNITS[key])
    return " / ".join(str(value).splitlines())
