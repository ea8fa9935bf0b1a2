"""From a circuit back to the lines that trace it, so that words and netlist are two views of one stage."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from shouldread.circuit.circuit import Circuit
from shouldread.circuit.lines import Line, logical_lines
from shouldread.circuit.nouns import NodeFacts
from shouldread.circuit.sorts import PAIR, Sort, sorts
from shouldread.circuit.trace import RAW, Trace
from shouldread.circuit.trace_netlist import Facts, facts_lines, model_of, spelled
from shouldread.errors import RequestError
from shouldread.parts import Part
from shouldread.quantities import spice_number

TOLD = ("detail", "printed", "pins", "value", "kind", "unsure", "volts", "amps", "watts")
UNITS = {"volts": "V", "amps": "A", "watts": "W"}


def traced(circuit: Circuit) -> Trace:
    """The lines that make this circuit: words where there are any, else the netlist's own line.

    Raises RequestError for a circuit that was changed since it was read, or that no lines give back.

    >>> from shouldread.circuit.library import load_circuit
    >>> traced(load_circuit("* divider\\nV1 IN 0 12\\nR1 IN OUT 1k\\nR2 OUT 0 1k\\n")).lines[:2]
    ('V1 at IN 12', 'R1 from IN to OUT 1k')
    """
    if circuit.edits:
        raise RequestError("a fault or condition is in this circuit: trace the board as it should be")
    rows = {line.number: line for line in logical_lines(circuit.text)}
    for words in (True, False):
        trace = Trace(tuple(_lines(circuit, rows, words)), circuit.title)
        if trace.circuit is not None and same(trace.circuit, circuit):
            return trace
    raise RequestError(f"{circuit.name} cannot be told in lines; keep it as a circuit file", value=circuit.name)


def same(one: Circuit, other: Circuit) -> bool:
    """Whether two circuits hold the same parts, states and facts of nodes, wherever they stand in their files."""

    def plain(circuit: Circuit) -> object:
        parts = {name: replace(p, line=0, model=None, block=None) for name, p in circuit.netlist.items()}
        models = {n: (p.model.type, dict(p.model.params)) for n, p in circuit.netlist.items() if p.model is not None}
        blocks = {n: p.block.name for n, p in circuit.netlist.items() if p.block is not None}
        sets = {name: (dict(s.sets), s.start_from) for name, s in circuit.state_table.items()}
        facts = {n: circuit.node_facts.get(n, NodeFacts()) for n in circuit.nodes}
        about = {n: replace(row, rest=row.rest or circuit.rest) for n, row in facts.items()}
        return parts, models, blocks, sets, about, circuit.title

    return plain(one) == plain(other)


def _lines(circuit: Circuit, rows: Mapping[int, Line], words: bool) -> list[str]:
    told: dict[str, tuple[str, ...]] = {}
    lines = list(_part_lines(circuit, rows, words, told))
    plain = Trace(tuple(lines), circuit.title).circuit
    known = plain.node_facts if plain is not None else {}
    return [*lines, *(f"*: {row}" for row in facts_lines(_untold(circuit, told, known)))]


def _part_lines(
    circuit: Circuit, rows: Mapping[int, Line], words: bool, told: dict[str, tuple[str, ...]]
) -> Iterator[str]:
    """A line for each part, then what raw lines need; ``told`` is filled with the facts that words tell."""
    raw_models, raw_blocks = set[str](), set[str]()
    for package, parts in _packages(circuit, words).items():
        line = _words(package, parts, rows) if words else ""
        if line:
            yield line
            told |= {part.name: TOLD + (("about",) if part.facts.get("detail") == "inside" else ()) for part in parts}
        else:
            yield from (f"{RAW}{rows[part.line].text}" for part in parts)
            raw_blocks |= {part.block.name.casefold() for part in parts if part.block is not None}
            raw_models |= {part.model.name.casefold() for part in parts if part.model is not None}
    inside = False
    for row in rows.values():
        first = row.words[0].casefold()
        inside = inside or first == ".subckt"
        wanted = first.startswith(".inc") and Path(row.words[-1]).stem.casefold() in raw_blocks
        if inside or wanted or first == ".param" or (first == ".model" and row.words[1].casefold() in raw_models):
            yield row.text
        inside = inside and first != ".ends"


def _packages(circuit: Circuit, words: bool) -> dict[str, list[Part]]:
    """Parts by what is printed on the board: the two of a pair are one. Values as they were typed go along."""
    found: dict[str, list[Part]] = {}
    stated = circuit.facts.get("parts", {})
    assert isinstance(stated, dict)
    typed = {name.casefold(): {"value": row["value"]} for name, row in stated.items() if "value" in row}
    for plain in circuit.netlist.values():
        part = replace(plain, facts={**plain.facts, **typed.get(plain.name.casefold(), {})})
        found.setdefault(str(part.facts.get("printed", part.name)) if words else part.name, []).append(part)
    return found


def _untold(circuit: Circuit, told: Mapping[str, tuple[str, ...]], known: Mapping[str, NodeFacts]) -> Facts:
    """The facts of the file that no line of words tells."""
    facts: Facts = {key: value for key, value in circuit.facts.items() if key not in ("title", "parts", "nodes")}
    if facts.get("rest") == "unknown":
        facts.pop("rest")
    elif "rest" not in facts:
        facts["rest"] = "none"
    names = {name.casefold(): keys for name, keys in told.items()}
    parts = circuit.facts.get("parts", {})
    assert isinstance(parts, dict)
    kept = {n: {k: v for k, v in row.items() if k not in names.get(n.casefold(), ())} for n, row in parts.items()}
    facts["parts"] = {name: row for name, row in kept.items() if row}
    nodes = circuit.facts.get("nodes", {})
    assert isinstance(nodes, dict)
    own = {name.casefold(): facts for name, facts in known.items()}
    stated = {n: {"rest": "unknown", **nodes.get(n, {})} for n, row in known.items() if row.rest == "none"}
    nodes = {**nodes, **stated} if circuit.rest == "unknown" else nodes
    facts["nodes"] = {n: row for n, row in nodes.items() if own.get(n.casefold()) != circuit.node_facts.get(n)}
    return facts


def _words(package: str, parts: list[Part], rows: Mapping[int, Line]) -> str:
    """A line of words for what is one on the board, "" where the words do not reach."""
    actives = [part for part in parts if part.facts.get("detail") != "inside" or len(parts) == 1]
    sort = sort_of(actives[0]) if actives else None
    if sort is None or any(sort_of(part) != sort for part in actives[1:]):
        return ""
    head = [package, *_called(actives[0], sort, _is_half(actives[0]))]
    if sort.letter in "QM":
        inside = _inside(parts, actives, sort)
        if sort.inside and not inside:
            return ""
        return " ".join([*head, *_order(actives[0]), *inside, *_legs(parts, actives, sort)])
    if len(parts) > 1:
        return ""
    part = parts[0]
    if sort.block:
        params = re.findall(r"(\w+)\s*=\s*(\S+)", rows[part.line].text)
        ends = [f"{pin} {_place(part, pin, node)}" for pin, node in zip(part.pins, part.nodes, strict=True)]
        return " ".join([*head, *ends, *(f"{key}={value}" for key, value in params)])
    a, b = (_place(part, pin, node) for pin, node in zip(part.pins, part.nodes[:2], strict=False))
    ends = [f"at {a}"] if sort.letter == "V" and b == "GND" else [f"from {a} to {b}"]
    plain = sort.name in ("resistor", "capacitor", "inductor", "supply")
    ratings = [f"{part.facts[key]}{unit}" for key, unit in UNITS.items() if key in part.facts and sort.letter in "RCL"]
    return " ".join([package, *ends, *([] if plain else head[1:]), *_value(part, sort), *ratings])


def _called(part: Part, sort: Sort, pair: bool) -> list[str]:
    kinds = part.facts.get("kind")
    if isinstance(kinds, list):
        return [" | ".join(map(str, kinds))]
    return [f"{sort.name} {PAIR}" if pair else sort.name]


def sort_of(part: Part) -> Sort | None:
    """The sort whose letter, variety and model a part has."""
    detail = str(part.facts.get("detail", ""))
    for sort in sorts().values():
        if sort.letter != part.kind or sort.detail != detail:
            continue
        if sort.block:
            if part.block is not None and part.block.ours and part.block.name == sort.block:
                return sort
        elif not sort.model or _has_model(part, sort):
            return sort
    return None


def _has_model(part: Part, sort: Sort) -> bool:
    if part.model is None:
        return False
    volts = spelled(part.model.params["BV"]) if "{volts}" in sort.model and "BV" in part.model.params else ""
    if "{volts}" in sort.model and not volts:
        return False
    text = model_of(sort, volts.replace("Meg", "M"))[1]
    given = {k.upper(): v for k, v in re.findall(r"(\w+)=([^\s)]+)", text) if k.upper() != "LEVEL"}
    same_type = text.split("(")[0].upper() == part.model.type
    return (
        same_type
        and given.keys() == part.model.params.keys()
        and all(part.model.params[k] == spice_number(v) for k, v in given.items())
    )


def _value(part: Part, sort: Sort) -> list[str]:
    if "{volts}" in sort.model:
        assert part.model is not None
        return [spelled(part.model.params["BV"])]
    if part.value is None:
        return []
    typed = part.facts.get("value")
    return [str(typed) if typed is not None else spelled(part.value.nominal).replace("Meg", "M")]


def _inside(parts: list[Part], actives: list[Part], sort: Sort) -> list[str]:
    """The two resistors inside a pre-biased transistor; those of a pair are alike."""
    if not sort.inside:
        return []
    of = {part.name: part for part in parts}
    found = [of.get(f"R{actives[0].name}{tail}") for tail in "SP"]
    return [_value(part, sort)[0] for part in found if part is not None]


def _order(part: Part) -> list[str]:
    """The order of a package's legs, where it was told: ``bec``."""
    pins = part.facts.get("pins")
    return ["".join(map(str, pins.values()))] if isinstance(pins, dict) and not _is_half(part) else []


def _legs(parts: list[Part], actives: list[Part], sort: Sort) -> list[str]:
    """Each leg with its place; a pair's are numbered by half."""
    found = []
    of = {part.name: part for part in parts}
    for part in actives:
        half = str(1 + "AB".index(part.name[-1])) if _is_half(part) else ""
        for leg in sort.pins:
            node = part.node_at(leg) or "0"
            if sort.inside and leg == "b":
                node = of[f"R{part.name}S"].nodes[0]
            found.append(f"{leg}{half} {_place(part, leg, node)}")
    return found


def _is_half(part: Part) -> bool:
    return part.name == f"{part.facts.get('printed', '')}{part.name[-1]}" and part.name[-1] in "AB"


def _place(part: Part, pin: str, node: str) -> str:
    unsure = part.facts.get("unsure", ())
    mark = "?" if isinstance(unsure, list) and pin in unsure else ""
    return ("GND" if node == "0" else node) + mark
