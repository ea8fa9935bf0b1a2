"""Part kind: everything the kit knows of a sort of component, declared once; the rest follows from it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from shouldread.parts.part import Part
from shouldread.quantities.spread import Law


@dataclass(frozen=True, slots=True)
class Severity:
    """How bad a fault may be: log-uniform from low to high, in ohms or as a factor on the value."""

    unit: Literal["ohm", "factor"]
    low: float
    high: float
    median: float


@dataclass(frozen=True, slots=True)
class Mode:
    """A way to fail. ``edits`` are templates on pins of the part, in which ``"severity"`` stands for its value:

    ("lift", pin), ("remove",), ("bridge", pin, pin, ohms | "severity"), ("scale", what, "severity"),
    ("change", what, value). ``share`` is the fraction of this part's failures, ``bench`` the multiplier
    for what reaches a repair bench; both with their source.
    """

    name: str
    edits: tuple[tuple[object, ...], ...]
    share: float
    severity: Severity | None = None
    bench: float = 1.0
    source: str = ""


@dataclass(frozen=True, slots=True)
class SpreadRule:
    """The trade's default for a number nobody marked: ``amount`` is a fraction (normal: two sigma),
    a factor (log-normal, two sigma) or volts of a junction (converted to a factor on IS)."""

    what: str
    law: Literal["fraction", "factor", "junction volts", "volts"]
    amount: float
    source: str = "from memory"
    shape: Law = "normal"


@dataclass(frozen=True, slots=True)
class Detail:
    """A variety of a kind (fuse, bead, zener, led ...): its words, symbol, failure rate and ways to fail."""

    name: str
    words: str
    symbol: str
    rate: float  # failures per 1e6 h, ground benign
    modes: tuple[Mode, ...]
    source: str = ""


@dataclass(frozen=True, slots=True)
class PartKind:
    """A letter of the netlist: pins, unit, spreads, varieties. ``details[""]`` is the plain variety."""

    letter: str
    name: str
    pins: tuple[str, ...]
    unit: str
    details: Mapping[str, Detail]
    spreads: tuple[SpreadRule, ...] = ()
    unreadable: tuple[float, float] | None = None  # the span of a value nobody can read, SI
    model_params: Mapping[str, float] = field(default_factory=dict)  # honoured, with SPICE defaults
    ignored_params: frozenset[str] = frozenset()  # dynamic ones: accepted and noted

    def detail_of(self, part: Part) -> Detail:
        """The variety of a part, by its ``detail`` fact; the plain one when it has none."""
        return self.details.get(str(part.facts.get("detail", "")), self.details[""])
