"""Traced parts as the lines and facts of a netlist."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import tomlkit

from shouldread.circuit.sorts import Sort
from shouldread.circuit.trace_wires import Wires
from shouldread.circuit.traced_part import TracedPart, value_of
from shouldread.parts import KINDS
from shouldread.quantities import Spread, say_spread

Facts = dict[str, Any]
_SUFFIXES = (("Meg", 6), ("k", 3), ("", 0), ("m", -3), ("u", -6), ("n", -9), ("p", -12))
SERIES = frozenset(d.name for d in KINDS["R"].details.values() if d.series)  # varieties that pass a feed on
LEAST_WIRED = 2  # legs of a part that must lead somewhere before it is put in


@dataclass(frozen=True, slots=True)
class Element:
    """A part of the netlist: its line, the ``.model`` it needs, and what the kit states of it and its inner node."""

    name: str
    line: str
    model: str = ""
    include: str = ""
    facts: Facts = field(default_factory=dict)
    nodes: Mapping[str, Facts] = field(default_factory=dict)


def spelled(value: float) -> str:
    """A number as netlists write it, exactly: ``47k``, ``2.2u``."""
    if value == 0:
        return "0"
    for suffix, power in _SUFFIXES:
        figure = f"{value / 10.0**power:.6g}"
        if 1 <= abs(float(figure)) < 1000 and float(f"{figure}e{power}") == value:
            return figure + suffix
    return repr(value)


def model_of(sort: Sort, value: str) -> tuple[str, str]:
    """Name and text of a sort's model; a zener's volts are put in and told in its name."""
    name = re.sub(r"\W", "_", sort.name.upper())
    if "{volts}" not in sort.model:
        return name, sort.model
    spread = value_of(TracedPart("D", sort), value)
    volts = spelled(spread.nominal)
    return f"{name}_{re.sub(r'[^A-Za-z0-9]', 'V', volts)}", sort.model.replace("{volts}", volts)


def elements(part: TracedPart, wires: Wires) -> tuple[Element, ...]:
    """What a part becomes; nothing as long as fewer than two of its legs lead somewhere."""
    if part.pair:
        halves = [_half(part, half, wires) for half in "AB"]
        return tuple(element for half in halves for element in half)
    if sum(wires.is_wired(part.name, leg) for leg in part.leg_names) < LEAST_WIRED:
        return ()
    nodes = {leg: wires.node(part, leg) for leg in part.leg_names}
    return _single(part, part.netlist_name, nodes, part.legs)


def _half(part: TracedPart, half: str, wires: Wires) -> tuple[Element, ...]:
    legs = [leg for leg in part.leg_names if leg[0] == half]
    if sum(wires.is_wired(part.name, leg) for leg in legs) < LEAST_WIRED:
        return ()
    nodes = {leg[2:]: wires.node(part, leg) for leg in legs}
    pins = {n: leg[2:] for n in "123456" if (leg := part.leg(n)) is not None and leg[0] == half}
    return _single(part, part.netlist_name + half, nodes, pins)


def _single(part: TracedPart, name: str, nodes: Mapping[str, str], pins: Mapping[str, str]) -> tuple[Element, ...]:
    facts = _facts(part, name, pins)
    if part.sort.inside:
        return _prebiased(part, name, nodes, facts)
    return (Element(name, *_line(part, name, list(nodes.values())), facts),)


def _line(part: TracedPart, name: str, nodes: list[str]) -> tuple[str, str, str]:
    """The element's line, its model and its include."""
    sort, places = part.sort, " ".join(nodes)
    if sort.block:
        params = "".join(f" {key}={value}" for key, value in part.settings.items())
        return f"{name} {places} {sort.block}{params}", "", f".include ../models/{sort.block.lower()}.cir"
    if sort.model:
        model, text = model_of(sort, part.value)
        bulk = {"M": f" {nodes[-1]}", "S": " 0 0"}.get(sort.letter, "")
        return f"{name} {places}{bulk} {model} {sort.tail}".rstrip(), f".model {model} {text}", ""
    return f"{name} {places} {spelled(_middle(value_of(part, part.value)))}", "", ""


def _middle(spread: Spread) -> float:
    """What stands on the netlist's line: the value, or a round figure amid a range that the facts state."""
    return float(f"{spread.nominal:.3g}") if spread.wide else spread.nominal


def _facts(part: TracedPart, name: str, pins: Mapping[str, str]) -> Facts:
    facts: Facts = {}
    if part.sort.detail:
        facts["detail"] = part.sort.detail
    if name != part.name:
        facts["printed"] = part.name
    if pins:
        facts["pins"] = dict(pins)
    if part.value and not part.sort.model and value_of(part, part.value).law != "exact":
        facts["value"] = part.value
    if not part.sort.block:
        facts |= part.settings
    if part.also:
        facts["kind"] = [part.called, *part.also]
    shaky = [leg.rpartition(".")[2] for leg, end in part.ends.items() if end.unsure and _is_of(leg, name, part)]
    return facts | ({"unsure": shaky} if shaky else {})


def _is_of(leg: str, name: str, part: TracedPart) -> bool:
    """Whether a leg belongs to the half of that name."""
    return not part.pair or name.endswith(leg[0])


def _prebiased(part: TracedPart, name: str, nodes: Mapping[str, str], facts: Facts) -> tuple[Element, ...]:
    """A transistor with its two resistors: base lead in series, base to emitter; what lies between cannot be probed."""
    inner, (c, b, e) = f"{name}_base", (nodes[leg] for leg in part.sort.pins)
    inside = {inner: {"about": f"inside {part.name}: base", "reach": "none", "rest": "none"}}
    made = [Element(name, *_line(part, name, [c, inner, e]), facts, inside)]
    ways = (("S", b, inner, "series resistor"), ("P", inner, e, "base to emitter"))
    for (tail, one, other, words), text in zip(ways, part.inside, strict=True):
        spread = value_of(part, text)
        told: Facts = {"detail": "inside", "printed": part.name, "about": f"inside {part.name}: {words}"}
        if spread.law != "exact":
            told["value"] = text
        made.append(Element(f"R{name}{tail}", f"R{name}{tail} {one} {other} {spelled(_middle(spread))}", facts=told))
    return tuple(made)


def supply(name: str, rail: str, nominal: Spread) -> Element:
    """A feed from outside, as the rail sheet has it."""
    facts: Facts = {"about": f"feed of {rail}, from the rail sheet"}
    if nominal.law != "exact":
        facts["value"] = say_spread(nominal, "V", 6)
    return Element(name, f"{name} {rail} 0 {spelled(nominal.nominal)}", facts=facts)


def netlist_rows(
    title: str, placed: Iterable[tuple[int, Element]], raw: Iterable[tuple[int, str]], facts: Facts
) -> list[tuple[int, str]]:
    """The whole file, each row with the line that it comes from (-1: none)."""
    listed = list(placed)
    table = _merged(title, [element for _, element in listed], facts)
    rows = [(-1, f"* {title}")]
    rows += [(-1, f"*: {row}") for row in facts_lines(table)]
    typed = [*((number, element.line) for number, element in listed), *raw]
    rows += sorted(typed, key=lambda row: (row[0] < 0, row[0]))
    for text in dict.fromkeys(e.model for _, e in listed if e.model):
        rows.append((-1, text))
    for text in dict.fromkeys(e.include for _, e in listed if e.include):
        rows.append((-1, text))
    return [*rows, (-1, ".end")]


def _merged(title: str, made: list[Element], facts: Facts) -> Facts:
    """Facts of the file: what the lines tell stands before what was stated beside them."""
    table: Facts = {
        "title": title,
        "rest": "unknown",
        **{k: v for k, v in facts.items() if k not in ("parts", "nodes")},
    }
    table["title"] = title or table["title"]
    nodes: Facts = {**facts.get("nodes", {})}
    parts: Facts = {name: dict(row) for name, row in facts.get("parts", {}).items()}
    for node in _between(made) if table["rest"] == "unknown" else ():
        nodes[node] = {"rest": "none", **nodes.get(node, {})}
    for element in made:
        for node, told in element.nodes.items():
            nodes[node] = {**told, **nodes.get(node, {})}
        if element.facts:
            parts[element.name] = {**parts.get(element.name, {}), **element.facts}
    return table | {"nodes": nodes, "parts": parts}


def _between(made: list[Element]) -> list[str]:
    """Points between two parts in series with hardly an ohm: what else hangs there is told at the chain's end.

    Three unseen paths on what is one wire would weigh thrice.
    """
    ends: dict[str, list[bool]] = {}
    for element in made:
        series = element.name[0] in "Ll" or element.facts.get("detail") in SERIES
        for node in places_of(element):
            ends.setdefault(node, []).append(series)
    return [node for node, kinds in ends.items() if kinds == [True, True]]


def places_of(element: Element) -> list[str]:
    """The nodes of an element's line, ground left out."""
    words = element.line.split()
    count = {"Q": 3, "M": 3, "X": len([word for word in words if "=" not in word]) - 2}.get(element.name[0].upper(), 2)
    return [place for place in words[1 : 1 + count] if place != "0"]


def facts_lines(table: Facts) -> list[str]:
    """The facts as TOML: what stands alone first, then each part, node and state on a line of its own."""
    document = tomlkit.document()
    alone = {k: v for k, v in table.items() if not isinstance(v, dict) and not _tables(v)}
    document.update(alone)
    for key, value in table.items():
        if isinstance(value, dict) and value:
            rows = tomlkit.table()
            for name, row in value.items():
                rows[name] = _inline(row) if isinstance(row, dict) else row
            document[key] = rows
    document.update({k: v for k, v in table.items() if _tables(v)})
    return [row for row in tomlkit.dumps(document).splitlines() if row.strip()]


def _inline(row: Facts) -> Any:
    inline = tomlkit.inline_table()
    inline.update({key: _inline(value) if isinstance(value, dict) else value for key, value in row.items()})
    return inline


def _tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)
