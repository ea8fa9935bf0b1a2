"""Where leads may be put: names of a circuit, or whatever a technician calls a rail while there is none."""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from shouldread.circuit import Circuit
from shouldread.errors import KitError, ReadingError, UnknownNameError
from shouldread.faults import by_name, find_pin
from shouldread.meter.reading import GROUND, GROUND_NAMES
from shouldread.parts import Lift, Part

Kind = Literal["node", "part", "pin", "name"]
MAX_NAME = 40
# letters of reference designators: IEEE 315, section 22 (from memory), and FB, IC, LED, SW as the trade writes
_DESIGNATOR = re.compile(r"(?:[CDFJKLMQRSTUXY]|BT|CN|CR|DS|FB|FL|IC|LED|RN|RT|RV|SW|TR|VR|ZD)\d{1,5}[A-Z]?", re.ASCII)


@dataclass(frozen=True, slots=True)
class Spot:
    """A place that a text names: canonical spelling, what it is, and its part where it is one or a pin of one."""

    name: str
    kind: Kind
    part: Part | None = None

    @property
    def is_part(self) -> bool:
        """Whether it is a component (or, without a circuit, named like one)."""
        return self.kind == "part" or (self.kind == "name" and _DESIGNATOR.fullmatch(self.name) is not None)


def folded(name: str) -> str:
    """A name for comparing: any case, one code point for what looks alike (µ)."""
    return unicodedata.normalize("NFKC", name).casefold()


@dataclass(frozen=True, slots=True)
class Places:
    """The names that a reading may use: of a circuit, or any at all without one."""

    nodes: Mapping[str, str] = field(default_factory=dict)  # folded -> first spelling
    parts: Mapping[str, Part] = field(default_factory=dict)
    free: bool = True
    hints: bool = True  # whether an unknown name is told its nearest (costly over many lines)

    @classmethod
    def of(cls, circuit: Circuit | None) -> "Places":
        """The names of a circuit; None gives free names."""
        if circuit is None:
            return cls()
        parts = {folded(name): part for name, part in by_name(circuit.netlist.values()).items()}
        return cls({folded(node): node for node in circuit.nodes}, parts, free=False)

    def spot(self, text: str) -> Spot | None:
        """The place that a text names (any case), or None."""
        key = folded(text)
        if key in GROUND_NAMES:
            return Spot(GROUND, "node")
        if key in self.nodes:
            return Spot(self.nodes[key], "node")
        part = self.part_spot(text)
        if part is not None:
            return part
        pin = find_pin(text, self.parts)
        if pin is not None:
            return Spot(f"{pin[0].name}.{pin[1]}", "pin", pin[0])
        return Spot(text, "name") if self.free and text and len(text) <= MAX_NAME else None

    def part_spot(self, text: str) -> Spot | None:
        """The part of that name, also where a node bears the same name; or None."""
        part = self.parts.get(folded(text))
        return Spot(part.name, "part", part) if part is not None else None

    def spot_known(self, text: str) -> bool:
        """Whether the circuit itself bears this name (free names bear none)."""
        return folded(text) in self.nodes or folded(text) in self.parts

    def known(self, text: str) -> Spot:
        """The place that a text names. Raises UnknownNameError when it names none."""
        spot = self.spot(text)
        if spot is None:
            raise self.unknown(text)
        return spot

    def cut(self, text: str) -> tuple[Spot, str]:
        """The place a text starts with, and what follows it (a ``:`` or ``=`` behind the place belongs to it).

        The longest known name wins. Raises ReadingError or UnknownNameError when it starts with none.
        """
        token, _, rest = text.strip().partition(" ")
        for end in self._ends(token, rest):
            spot = self.spot(token[:end])
            if spot is not None:
                behind = f"{token[end:]} {rest}".strip()
                return spot, behind[1:].strip() if behind[:1] in (":", "=") else behind
        if not token or self.free:
            raise ReadingError("say where first: a node, a part, a pin or a supply, then the value", value=text)
        raise self.unknown(re.split("[:=]", token, maxsplit=1)[0])

    def _ends(self, token: str, rest: str) -> list[int]:
        """Where the place may end in the first word, most likely first."""
        equals = token.find("=")
        if equals >= 0:
            return [equals]
        colons = [at for at, sign in enumerate(token) if sign == ":"]
        if not self.free:
            return [len(token), *reversed(colons)][:8]
        if token.endswith(":"):
            return [len(token) - 1]
        return [colons[0] if colons and not rest else len(token)]

    def unknown(self, name: str) -> KitError:
        """The error for a name that is no place here; a pin that its part has not is told the pins."""
        if not self.hints:
            return ReadingError(f"there is no place {name[:MAX_NAME]!r}", value=name[:MAX_NAME])
        owner = self.parts.get(folded(name.rpartition(".")[0]))
        if owner is not None:
            return UnknownNameError("pin", name[:MAX_NAME], [f"{owner.name}.{pin}" for pin in owner.pins])
        known = [*self.nodes.values(), *(part.name for part in self.parts.values())]
        return UnknownNameError("place", name[:MAX_NAME], [n for n in known if n != GROUND])


def leads(circuit: Circuit, place: str, to: str = "") -> tuple[str, str]:
    """Where red and black stand for a reading's ``place`` and ``to``: a node, or ``PART.pin``.

    A part alone is read across, first pin to second. Raises UnknownNameError for a place that is not there,
    ReadingError for a part with more than two pins or for a part named as one of two places.

    >>> from shouldread.circuit import load_circuit
    >>> leads(load_circuit("* divider\\nV1 A 0 12\\nR1 A B 1k\\nR2 B 0 1k\\n"), "R1")
    ('R1.1', 'R1.2')
    """
    places = Places.of(circuit)
    red, black = places.known(place), places.known(to or GROUND)
    if not to and red.kind == "part":
        return across(red)
    for spot in (red, black):
        if spot.kind == "part":
            one_pin(spot)
    return red.name, black.name


def pads(circuit: Circuit, places: tuple[str, str]) -> tuple[str, str]:
    """Pins as the pads they sit on, unless they were lifted by hand: a probe touches pad and pin at once.

    An open joint is inside the part for whoever probes it, so a fault's lift does not move the probe.
    """
    lifted = {f"{e.part}.{e.pin}".casefold() for e in circuit.edits if isinstance(e, Lift)}

    def pad(place: str) -> str:
        name, dot, pin = place.rpartition(".")
        if not dot or place in circuit.nodes or place.casefold() in lifted:
            return place
        return circuit.part(name).node_at(pin) or place

    return pad(places[0]), pad(places[1])


def across(spot: Spot) -> tuple[str, str]:
    """The two pins that a part is read across. Raises ReadingError when it has more (a switch: its contacts)."""
    assert spot.part is not None
    part = spot.part
    if len(part.nodes) != 2 and part.kind not in "SEG":
        pins = [f"{part.name}.{pin}" for pin in part.pins]
        raise ReadingError(
            f"{part.name} has {len(pins)} pins: say which two, such as {pins[0]} to {pins[-1]}", value=part.name
        )
    return f"{part.name}.{part.pins[0]}", f"{part.name}.{part.pins[1]}"


def one_pin(spot: Spot) -> None:
    """Raise ReadingError for a part named where one lead goes."""
    assert spot.part is not None
    pins = " or ".join(f"{spot.part.name}.{pin}" for pin in spot.part.pins[:3])
    raise ReadingError(f"{spot.name} is a part, not a point: say which pin, {pins}", value=spot.name)
