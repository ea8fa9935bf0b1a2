"""Part kind: everything the kit knows of a sort of component, declared once; the rest follows from it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from shouldread.parts.part import Part
from shouldread.parts.severity import Severity
from shouldread.quantities import Law

__all__ = ["Detail", "Mode", "PartKind", "Row", "Severity", "SpreadRule"]

Row = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Mode:
    """A way to fail. ``edits`` are templates on pins of the part, in which ``"severity"`` stands for its value:

    ("lift", pin), ("remove",), ("bridge", pin, pin, ohms | "severity"), ("scale", what, "severity"),
    ("change", what, value); ("lift", pin, mate) lifts a pin only while it shares its mate's node (the
    bulk that a package ties to its source). ``share`` is the fraction of this part's failures, ``bench``
    the multiplier for what reaches a repair bench; both with their source. A mode that scales a
    number is offered only where the part has that number, not zero and not wide open.
    """

    name: str
    edits: tuple[Row, ...]
    share: float
    severity: Severity | None = None
    bench: float = 1.0
    source: str = ""
    bench_source: str = ""


@dataclass(frozen=True, slots=True)
class SpreadRule:
    """The trade's default for a number nobody marked: ``amount`` is a fraction (normal: two sigma),
    a factor (log-normal, two sigma), volts of a junction (converted to a factor on IS) or plain volts. ``of_type``: all
    parts of one model have it in common."""

    what: str
    law: Literal["fraction", "factor", "junction volts", "volts"]
    amount: float
    source: str = "from memory"
    shape: Law = "normal"
    of_type: bool = False


@dataclass(frozen=True, slots=True)
class Detail:
    """A variety of a kind (fuse, bead, zener, led ...): its words, symbol, failure rate and ways to fail.

    ``rate`` is failures per 1e6 h, ground benign. ``spreads`` stand before those of the plain variety.
    ``series``: it stands in a feed and passes it on.
    """

    name: str
    words: str
    symbol: str
    rate: float
    modes: tuple[Mode, ...]
    source: str = ""
    spreads: tuple[SpreadRule, ...] = ()
    series: bool = False


@dataclass(frozen=True, slots=True)
class PartKind:
    """A letter of the netlist: pins, unit, spreads, varieties. ``details[""]`` is the plain variety.

    ``stand_in`` says why a kind never fails (a load or a gain that stands for something else); a kind
    that can fail leaves it empty. ``value_name`` is what its value is called in words.
    """

    letter: str
    name: str
    pins: tuple[str, ...]
    unit: str
    details: Mapping[str, Detail]
    spreads: tuple[SpreadRule, ...] = ()
    unreadable: tuple[float, float] | None = None  # the span of a value nobody can read, SI
    model_params: Mapping[str, float] = field(default_factory=dict)  # honoured, with SPICE defaults
    ignored_params: frozenset[str] = frozenset()  # dynamic ones: accepted and noted
    model_types: tuple[str, ...] = ()  # the .model types that it takes
    settings: Mapping[str, float] = field(default_factory=dict)  # numbers on its line, with defaults
    value_name: str = ""
    stand_in: str = ""

    def detail_of(self, part: Part) -> Detail:
        """The variety of a part, by its ``detail`` fact; the plain one when it has none."""
        return self.details.get(str(part.facts.get("detail", "")), self.details[""])
