"""Part, model and block: a component as the netlist names it, with what the kit knows about it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from shouldread.parts.severity import Severity
from shouldread.quantities import Spread

_NONE: Mapping[str, object] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Model:
    """A ``.model`` line: type in capitals (D, NPN, PNP, NMOS, PMOS, SW) and its parameters in SI units."""

    name: str
    type: str
    params: Mapping[str, float] = field(default_factory=dict)
    line: int = 0


@dataclass(frozen=True, slots=True)
class Effect:
    """A way an IC fails, told by what it does: which inner edits bring it about.

    ``edits`` are (verb, *arguments) rows on inner elements and pins: ``("lift", "Mpass", "g")``,
    ``("bridge", "IN", "OUT", 0.05)`` (pins of the block or inner nodes), ``("set", "Vr", "value", "x1.1")``,
    ``("remove", "S1")``. ``"severity"`` in a row stands for a figure out of ``severity``: ohms of a bridge,
    or the factor of a ``set``.
    """

    name: str
    edits: tuple[tuple[object, ...], ...]
    share: float
    source: str = ""
    severity: Severity | None = None


@dataclass(frozen=True, slots=True)
class PinFacts:
    """What an IC pin is and what it shows to ground when cold (ohms to ground beside a diode ground->pin)."""

    name: str
    role: str = ""  # in, out, supply, ground, enable, feedback, flag
    side: str = ""  # left, right, top, bottom: for the drawing
    cold_ohms: Spread | None = None
    cold_diode: bool = True


@dataclass(frozen=True, slots=True)
class Block:
    """A ``.subckt``: pins, default parameters, inner parts, and the facts that its model file states."""

    name: str
    pins: tuple[str, ...]
    params: Mapping[str, float] = field(default_factory=dict)
    parts: tuple["Part", ...] = ()
    models: Mapping[str, Model] = field(default_factory=dict)
    pin_facts: Mapping[str, PinFacts] = field(default_factory=dict)
    effects: tuple[Effect, ...] = ()
    spreads: Mapping[str, Spread] = field(default_factory=dict)
    about: str = ""
    rate: float = 0.0
    ours: bool = False  # from circuits/models: stays whole in fault lists, cold uses pin facts


@dataclass(frozen=True, slots=True)
class Part:
    """A component: name as first spelled, kind letter, one node per pin in netlist order.

    ``value`` is ohms, farads, henries, volts, amps or gain by kind (None for D Q M S X). ``settings``
    are the numbers on its line (W, L, area, subcircuit parameters) and ``on`` (1.0 or 0.0) for a switch.
    ``facts`` are the kit's facts from the ``[parts]`` table: detail, dcr, ratings, about, neighbours ...
    """

    name: str
    kind: str
    nodes: tuple[str, ...]
    value: Spread | None = None
    model: Model | None = None
    block: Block | None = None
    settings: Mapping[str, float] = field(default_factory=dict)
    facts: Mapping[str, object] = field(default_factory=dict)
    line: int = 0

    @property
    def pins(self) -> tuple[str, ...]:
        """Pin names: c b e, d g s b, a k; an IC's own pin names; else 1 2 ..."""
        if self.block is not None:
            return self.block.pins
        letters = {"Q": ("c", "b", "e"), "M": ("d", "g", "s", "b"), "D": ("a", "k")}
        return letters.get(self.kind, tuple(str(i + 1) for i in range(len(self.nodes))))[: len(self.nodes)]

    def pin_named(self, text: str) -> str | None:
        """A pin by name (any case) or number: as the package numbers it where the ``pins`` fact says so, else in
        netlist order. None when there is no such pin.
        """
        told = self.facts.get("pins")
        if isinstance(told, Mapping) and text in told:
            text = str(told[text])
        elif isinstance(told, Mapping) and text.isdigit():
            return None
        for name in self.pins:
            if name.casefold() == text.casefold():
                return name
        if text.isascii() and text.isdigit() and len(text) < 5 and 1 <= int(text) <= len(self.pins):
            return self.pins[int(text) - 1]
        return None

    def node_at(self, pin: str) -> str | None:
        """The node at a pin given by name (any case) or by number, or None."""
        name = self.pin_named(pin)
        return None if name is None else self.nodes[self.pins.index(name)]
