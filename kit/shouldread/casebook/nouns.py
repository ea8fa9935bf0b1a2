"""What goes into a store and what comes out: values read, and cases from elsewhere."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from shouldread.casebook.event import Event


class Value(NamedTuple):
    """A reading as cases are compared by: SI units, ``low`` to ``high`` what the display may have shown."""

    place: str
    setting: str
    state: str
    low: float
    high: float
    good: bool


@dataclass(frozen=True, slots=True)
class Incoming:
    """A case from elsewhere, checked: its name there, its events, and the readings of each event by uid."""

    name: str
    events: tuple[Event, ...]
    values: Mapping[str, Sequence[Value]]


@dataclass(frozen=True, slots=True)
class Adopted:
    """What became of a case from elsewhere: its name there and here, and how many of its events were new."""

    theirs: str
    ours: str
    fresh: int
    events: int
