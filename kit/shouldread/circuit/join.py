"""Two circuits joined into one: stages as they stand on a board."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shouldread.circuit.feeds import is_supply
from shouldread.circuit.names import folded
from shouldread.circuit.nouns import NodeFacts, State
from shouldread.errors import RequestError
from shouldread.parts import Block, Model, Part

if TYPE_CHECKING:
    from shouldread.circuit.circuit import Circuit


@dataclass(frozen=True, slots=True)
class _Renaming:
    """What the other circuit's nodes, parts, models and blocks are called on the joined board."""

    node: Callable[[str], str]
    part: Callable[[str], str]
    model: Callable[[Model], Model]
    block: Callable[[Block], Block]


def join(circuit: "Circuit", other: "Circuit", connect: Mapping[str, str], prefix: str) -> "Circuit":
    """The other circuit's parts added to a circuit; ``connect`` is {own node: other's node}.

    Raises UnknownNameError for a node that is not there, RequestError for names that both circuits use (say a
    prefix), and for faults or conditions put into the other one before joining.
    """
    if other.edits:
        done = ", ".join((*other.fault_names, *other.condition_names))
        raise RequestError(f"join circuits first; then put into the joined one: {done}", value=done)
    joined = {other.node(theirs): circuit.node(own) for own, theirs in connect.items()}
    dropped = tuple(part.name for part in other.netlist.values() if _feeds(part, joined))
    kept = {name: part for name, part in other.netlist.items() if name not in dropped}
    names = _renaming(circuit, other, joined, kept, prefix)
    parts = {names.part(name): _renamed(part, names) for name, part in kept.items()}
    return replace(
        circuit,
        name=f"{circuit.name} + {other.name}",
        title=f"{circuit.title} + {other.title}",
        about=" ".join(filter(None, (circuit.about, other.about))),
        netlist={**circuit.netlist, **parts},
        models={**circuit.models, **{(m := names.model(model)).name.lower(): m for model in other.models.values()}},
        blocks={**circuit.blocks, **{(b := names.block(block)).name: b for block in other.blocks.values()}},
        state_table=_states(circuit, other, dropped, names.part),
        node_facts={**_node_facts(other, circuit.rest, kept, names.node), **circuit.node_facts},
        readings=(),  # what was known of each alone need not hold for both
        hints={},
        neighbours=(*circuit.neighbours, *((names.node(a), names.node(b)) for a, b in other.neighbours)),
        notes=(*circuit.notes, *other.notes, *_note(dropped, other)),
        text="",
        reread=None,
    )


def _feeds(part: Part, joined: Mapping[str, str]) -> bool:
    """Whether a part is a source on a joined node: there the circuit itself feeds now."""
    source = part.kind == "I" or is_supply(part)
    return source and any(node in joined for node in part.nodes)


def _note(dropped: tuple[str, ...], other: "Circuit") -> tuple[str, ...]:
    if not dropped:
        return ()
    return (f"joined: {', '.join(dropped)} of {other.name} left out, the joined node is fed by this circuit",)


def _renaming(
    circuit: "Circuit", other: "Circuit", joined: Mapping[str, str], kept: Mapping[str, Part], prefix: str
) -> _Renaming:
    def node(name: str) -> str:
        return joined.get(name, name if name == "0" else prefix + name)

    def part(name: str) -> str:
        return prefix + name

    used = {n for row in kept.values() for n in row.nodes if n != "0" and n not in joined}
    taken = {n.casefold() for n in (*circuit.nodes, *circuit.netlist)}
    clashes = sorted(n for n in {*map(node, used), *map(part, kept)} if n.casefold() in taken)
    clashes += [] if prefix else sorted(m.name for m in other.models.values() if _differs(circuit, m))
    if clashes:
        raise RequestError(
            f"both circuits use the name{'s' if len(clashes) > 1 else ''} {', '.join(clashes)};"
            + ("" if prefix else " give")
            + (f" choose another prefix than {prefix!r}" if prefix else ' prefix="B_" or the like')
            + " for the other's",
            value=prefix,
            known=tuple(clashes),
        )

    def model(row: Model) -> Model:
        return replace(row, name=prefix + row.name) if _differs(circuit, row) else row

    def block(row: Block) -> Block:
        own = circuit.blocks.get(row.name)
        return row if row.ours or own is None or own == row else replace(row, name=prefix + row.name)

    return _Renaming(node, part, model, block)


def _differs(circuit: "Circuit", model: Model) -> bool:
    own = circuit.models.get(model.name.lower())
    return own is not None and (own.type, dict(own.params)) != (model.type, dict(model.params))


def _renamed(part: Part, names: _Renaming) -> Part:
    return replace(
        part,
        name=names.part(part.name),
        nodes=tuple(map(names.node, part.nodes)),
        model=None if part.model is None else names.model(part.model),
        block=None if part.block is None else names.block(part.block),
        facts={k: f"{names.part('')}{v}" if k == "param" else v for k, v in part.facts.items()},
    )


def _states(
    circuit: "Circuit", other: "Circuit", dropped: tuple[str, ...], part: Callable[[str], str]
) -> dict[str, State]:
    """States by name, the circuit's own order first; where one circuit has no such state, its first one stands."""
    own = {folded(name): state for name, state in circuit.state_table.items()}
    theirs = {folded(name): state for name, state in other.state_table.items()}
    first, their_first = next(iter(own.values())), next(iter(theirs.values()))
    found = {}
    for key in dict.fromkeys((*own, *theirs)):
        mine, yours = own.get(key, first), theirs.get(key, their_first)
        name = (own.get(key) or theirs[key]).name
        sets = {part(key): value for key, value in yours.sets.items() if key not in dropped}
        start = "off" if "off" in (mine.start_from, yours.start_from) else ""
        found[name] = State(name, {**mine.sets, **sets}, "off" if start else "")
    return found


def _node_facts(
    other: "Circuit", rest: str, kept: Mapping[str, Part], node: Callable[[str], str]
) -> dict[str, NodeFacts]:
    """The other's node facts under their new names; how unknown its rest is stays with each of its nodes."""
    used = dict.fromkeys(n for part in kept.values() for n in part.nodes if n != "0")
    found = {}
    for name in used:
        facts = other.node_facts.get(name, NodeFacts())
        if not facts.rest and other.rest != rest:
            facts = replace(facts, rest=other.rest)
        if facts != NodeFacts():
            found[node(name)] = facts
    return found
