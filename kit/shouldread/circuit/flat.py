"""A circuit with every subcircuit opened and every edit applied: what a solver, a writer and a meter need."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from shouldread.parts import Bridge, Drive, Junction, Part


@dataclass(frozen=True, slots=True)
class Flat:
    """Primitive parts only (R C L V I D Q M E G S, and B for a block's averaged-converter row).

    ``parts``: named ``R1`` or ``U1.M1``, nodes by name (ground ``"0"``; inner nodes ``U1.g``; the node a
    lifted pin hangs on ``R1.2*``). ``bridges``, ``junctions``, ``drives``: what the edits added, between
    resolved nodes. ``owner``: the top-level part that each primitive or bridge belongs to.
    ``nodes``: all node names, ground first, top-level nodes before inner ones. ``places``: node of every
    ``PART.pin`` after the edits. ``removed``: parts whose amps are exactly zero.
    """

    parts: tuple[Part, ...]
    bridges: tuple[Bridge, ...]
    junctions: tuple[Junction, ...]
    drives: tuple[Drive, ...]
    owner: Mapping[str, str]
    nodes: tuple[str, ...]
    places: Mapping[str, str]
    removed: frozenset[str] = frozenset()
    terminals: Mapping[tuple[str, int], str] = field(default_factory=dict)  # (primitive, terminal) -> PART.pin
