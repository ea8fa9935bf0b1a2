"""What a circuit file states beside its parts: states, node facts, known readings."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from shouldread.quantities import Spread


@dataclass(frozen=True, slots=True)
class State:
    """How the circuit is fed and driven: V, I and R values in SI units, switches on (True) or off, feeds absent."""

    name: str
    sets: Mapping[str, float | bool | str] = field(default_factory=dict)
    start_from: Literal["", "off"] = ""


@dataclass(frozen=True, slots=True)
class NodeFacts:
    """What is known of a node: its words, how well a probe reaches it, whether more hangs there."""

    about: str = ""
    reach: str = ""
    rest: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class KnownReading:
    """A reading that a file promises, with the source it comes from."""

    at: str
    value: Spread
    source: str
    to: str = ""
    setting: str = "volts"
    state: str = ""
    fault: str = ""
    condition: str = ""
    line: int = 0
