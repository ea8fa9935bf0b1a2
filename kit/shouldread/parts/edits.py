"""Edits: what can be done to a netlist. A fault, a condition, a meter are all lists of these.

Places are written ``NODE`` or ``PART.pin`` (the node that the pin is on *before* any edit, so that a
bridge to a lifted pin's pad and one to the pin itself can be told apart: ``PART.pin`` after a lift of
that pin means the lifted pin).
"""

from dataclasses import dataclass

from shouldread.quantities import Spread


@dataclass(frozen=True, slots=True)
class Lift:
    """The pin leaves its node and hangs on a node of its own (an open joint, a lifted leg)."""

    part: str
    pin: str


@dataclass(frozen=True, slots=True)
class Remove:
    """The part is not there: its amps are exactly zero."""

    part: str


@dataclass(frozen=True, slots=True)
class Bridge:
    """A resistance between two places. ``owner`` counts its current as that part's (a short in R3)."""

    a: str
    b: str
    ohms: float
    name: str
    owner: str = ""
    spread: Spread | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """A number of a part becomes another: ``value``, a model parameter (``BF``), a setting (``on``)."""

    part: str
    what: str
    value: float


@dataclass(frozen=True, slots=True)
class Scale:
    """A number of a part is multiplied (drift)."""

    part: str
    what: str
    factor: float


@dataclass(frozen=True, slots=True)
class Junction:
    """A silicon junction between two places (what an IC pin shows when cold): anode a, cathode b."""

    a: str
    b: str
    name: str
    is_: float = 1e-12
    n: float = 1.2
    owner: str = ""


@dataclass(frozen=True, slots=True)
class Drive:
    """A meter's or injector's source from place b to place a: volts behind ohms (Thevenin)."""

    a: str
    b: str
    volts: float
    ohms: float
    name: str


Edit = Lift | Remove | Bridge | Change | Scale | Junction | Drive
