"""Subcircuits: their definition, their facts, and one opened with the parameters of an instance."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from shouldread.circuit.block_facts import read_block_facts
from shouldread.circuit.dotlines import read_model, read_params
from shouldread.circuit.elements import read_element
from shouldread.circuit.lines import Line
from shouldread.circuit.scope import Scope
from shouldread.parts import Block, Part

DEEPEST = 16


@dataclass(slots=True)
class Definition:
    """A ``.subckt`` as written; its numbers are worked out for each instance."""

    name: str
    pins: tuple[str, ...]
    defaults: dict[str, str]
    line: int
    body: list[Line] = field(default_factory=list)
    inner: dict[str, "Definition"] = field(default_factory=dict)
    facts: Mapping[str, Any] = field(default_factory=dict)
    ours: bool = False

    @classmethod
    def begin(cls, line: Line, scope: Scope) -> "Definition | None":
        """From its ``.subckt`` line; None after a complaint."""
        words = [w for w in line.words[1:] if w.lower() != "params:"]
        first = words.index("=") - 1 if "=" in words else len(words)
        if first < 2:
            scope.complain(line.number, "write .subckt NAME pin1 pin2 ... key=default")
            return None
        rest = words[first:]
        defaults = {rest[i].lower(): rest[i + 2] for i in range(0, len(rest) - 2, 3) if rest[i + 1] == "="}
        return cls(words[0], tuple(words[1:first]), defaults, line.number)


def open_block(
    definition: Definition,
    params: Mapping[str, float],
    known: Mapping[str, Definition],
    outer: Scope,
    line: int,
    depth: int = 0,
) -> Block | None:
    """The block with an instance's parameters put in. Complaints in a body name the body's line."""
    if depth > DEEPEST:
        outer.complain(line, f"subcircuits nested deeper than {DEEPEST}, or in a circle ({definition.name})")
        return None
    scope = Scope(
        params={},
        models=dict(outer.models),
        complaints=outer.complaints,
        notes=outer.notes,
        rows_allowed=definition.ours,
    )
    scope.params |= outer.params
    for key, text in definition.defaults.items():
        number = scope.number(text, definition.line)
        scope.params[key] = params.get(key, number if number is not None else 0.0)
    defaults = {key: scope.params[key] for key in definition.defaults}
    inner = {**known, **definition.inner}

    def inside(word: str, given: Mapping[str, float], at: int) -> Block | None:
        if word.lower() in inner:
            return open_block(inner[word.lower()], given, inner, scope, at, depth + 1)
        scope.complain(at, f"there is no .subckt {word!r}")
        return None

    scope.block = inside
    for pin in definition.pins:
        scope.node(pin, definition.line)
    parts = _body(definition, scope)
    own = {k: m for k, m in scope.models.items() if k not in outer.models}
    block = Block(definition.name, definition.pins, defaults, parts, own, ours=definition.ours)
    return read_block_facts(block, definition.facts)


def _body(definition: Definition, scope: Scope) -> tuple[Part, ...]:
    elements = []
    for row in definition.body:
        word = row.words[0].lower()
        if word == ".model":
            read_model(row, scope)
        elif word == ".param":
            read_params(row, scope, {})
        elif word.startswith("."):
            scope.complain(row.number, f"{word} has no place inside a .subckt")
        else:
            elements.append(row)
    return tuple(part for row in elements if (part := read_element(row, scope)) is not None)
