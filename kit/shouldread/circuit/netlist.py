"""Reading a circuit file: every line, then all complaints at once."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from shouldread.circuit.circuit import Circuit, pairs
from shouldread.circuit.dotlines import read_model, read_params
from shouldread.circuit.elements import read_element
from shouldread.circuit.facts import FactReader
from shouldread.circuit.lines import Line, logical_lines, title_of
from shouldread.circuit.nouns import NodeFacts, State
from shouldread.circuit.parameters import NUDGE, varied_together
from shouldread.circuit.scope import Scope
from shouldread.circuit.subcircuits import Definition, open_block
from shouldread.errors import CircuitError, Complaint, nearest_name
from shouldread.parts import Block, Part
from shouldread.quantities import Spread

NOTED = (".op", ".dc", ".ac", ".tran", ".print", ".plot", ".save", ".meas", ".measure", ".probe", ".title", ".global")
TOLERANCES = {"reltol", "vntol", "abstol", "gmin", "itl1", "itl2", "pivtol", "pivrel", "chgtol", "trtol"}
MOST_PARTS = 5000
MOST_CHARACTERS = 1_000_000
DEEPEST_INCLUDE, MOST_INCLUDES = 8, 64


@dataclass(slots=True)
class _Reading:
    """A file being read."""

    scope: Scope
    library: Mapping[str, Definition]
    overrides: Mapping[str, float]
    definitions: dict[str, Definition] = field(default_factory=dict)
    used: dict[str, Block] = field(default_factory=dict)
    elements: list[Line] = field(default_factory=list)
    includes: int = 0


def read_netlist(
    text: str,
    name: str = "circuit",
    *,
    folder: Path | None = None,
    library: Mapping[str, Definition] | None = None,
    given: Mapping[str, Spread] | None = None,
) -> Circuit:
    """A circuit from the text of its file. ``folder``: where ``.include`` may look; ``library``: blocks of the kit;
    ``given``: values of ``.param`` names that stand before the file's.

    Raises CircuitError with every mistake, each with its line and what to write instead.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    if len(text) > MOST_CHARACTERS:
        raise CircuitError([Complaint(1, f"the file is longer than {MOST_CHARACTERS} characters")], name)
    given, values = given or {}, {k: v.nominal for k, v in (given or {}).items()}
    reading, netlist = _read_lines(text, folder, library or {}, values)
    scope = reading.scope
    _check_title(text, scope)
    facts = FactReader(text, scope.complaints)
    netlist = _with_facts(netlist, facts)
    for key, spread in {**facts.params(scope.params), **_stated(given)}.items():
        if not scope.complaints:
            nudged = _read_lines(text, folder, library or {}, values | {key: spread.nominal * (1.0 + NUDGE)})[1]
            netlist = varied_together(netlist, nudged, key, spread)
    title, about, rest = facts.words("title") or title_of(text), facts.words("about"), facts.rest("none")
    states, readings, node_facts = _states(facts, netlist), facts.readings(), _node_facts(facts, scope)
    if not netlist and not scope.complaints:
        scope.complain(1, "there is no part in it; write for instance R1 in out 10k on a line of its own")
    if scope.complaints:
        raise CircuitError(scope.complaints, name)
    return Circuit(
        name=name,
        title=title,
        netlist=netlist,
        about=about,
        models=dict(scope.models),
        blocks=dict(reading.used),
        state_table=states,
        node_facts=node_facts,
        rest=rest,
        readings=readings,
        hints=facts.table.get("hints", {}),
        facts=facts.table,
        notes=tuple(scope.notes),
        neighbours=pairs(facts.table.get("neighbours", [])),
        params=dict(scope.params),
        given=given,
        reread=lambda given: read_netlist(text, name, folder=folder, library=library, given=given),
        text=text,
    )


def _states(facts: FactReader, netlist: Mapping[str, Part]) -> dict[str, State]:
    find = {part.name.casefold(): part for part in netlist.values()}
    states = {key: facts.state(key, row, find) for key, row in facts.tables("states").items()} or {"run": State("run")}
    if any(key.casefold() == "cold" for key in states):
        facts.complain("the state cold always exists (nothing fed); choose another name", "[states]", "cold")
    return states


def _stated(given: Mapping[str, Spread]) -> dict[str, Spread]:
    return {key: spread for key, spread in given.items() if spread.law != "exact"}


def _read_lines(
    text: str, folder: Path | None, library: Mapping[str, Definition], overrides: Mapping[str, float]
) -> tuple[_Reading, dict[str, Part]]:
    """The parts of a netlist's lines, without the kit's facts."""
    reading = _Reading(Scope(), library, overrides)
    _sort_lines(logical_lines(text), reading, folder, 0)
    reading.scope.block = lambda word, params, line: _block(word, params, line, reading)
    return reading, _parts(reading)


def _check_title(text: str, scope: Scope) -> None:
    first = text.split("\n", 1)[0].strip()
    if re.match(r"[RCLVIDQMEGSX]\w*\s+\S+\s+\S+\s+\S", first, re.IGNORECASE) and re.match(
        r"\S+\s+\S+\s+\S+\s+[\d.{\-+]", first
    ):
        scope.complain(
            1, "the first line of a netlist is its title and this looks like a part; put a title line above it"
        )


def _sort_lines(lines: tuple[Line, ...], reading: _Reading, folder: Path | None, depth: int) -> None:
    """Dot lines are dealt with, subcircuit bodies put aside, element lines kept for later."""
    scope, open_ones = reading.scope, []
    for line in lines:
        word = line.words[0].lower()
        if word == ".subckt":
            open_ones.append(Definition.begin(line, scope))
        elif word == ".ends":
            if not open_ones:
                scope.complain(line.number, ".ends without a .subckt above it")
                continue
            done = open_ones.pop()
            if done is not None:
                if done.name.lower() in reading.library:
                    scope.complain(done.line, f"the kit has its own {done.name}; give yours another name")
                (open_ones[-1].inner if open_ones and open_ones[-1] else reading.definitions)[done.name.lower()] = done
        elif open_ones:
            if open_ones[-1] is not None:
                open_ones[-1].body.append(line)
        elif word.startswith("."):
            _dot_line(line, reading, folder, depth)
        else:
            reading.elements.append(line)
    for left in open_ones:
        if left is not None:
            scope.complain(left.line, f".subckt {left.name} has no .ends")


def _dot_line(line: Line, reading: _Reading, folder: Path | None, depth: int) -> None:
    scope, word = reading.scope, line.words[0].lower()
    if word == ".model":
        read_model(line, scope)
    elif word == ".param":
        read_params(line, scope, reading.overrides)
    elif word in (".include", ".inc", ".lib"):
        _include(line, reading, folder, depth)
    elif word in (".options", ".option"):
        odd = [w for w in line.words[1::3] if w.lower() not in TOLERANCES]
        if odd:
            scope.complain(line.number, f"{word} {odd[0]} is not read; the kit solves at 27 °C with its own method")
    elif word in NOTED:
        scope.notes.append(f"line {line.number}: {word} is accepted and not run")
    elif word == ".temp":
        if [w for w in line.words[1:]] != ["27"]:
            scope.complain(line.number, ".temp: the kit reckons at 27 °C; leave the line out")
    elif word in (".ic", ".nodeset"):
        scope.complain(line.number, f'{word} is not read: states and from = "off" say how a circuit starts')
    else:
        near = nearest_name(word, (".model", ".subckt", ".ends", ".param", ".include", ".end", *NOTED))
        scope.complain(line.number, f"{word} is not read here" + (f"; nearest: {near}" if near else ""))


def _include(line: Line, reading: _Reading, folder: Path | None, depth: int) -> None:
    scope, named = reading.scope, line.text.split(None, 1)[-1].strip().strip("\"'")
    if Path(named).parent.name == "models" and Path(named).stem.lower() in reading.library:
        return  # a block of the kit, which is known without its file; ngspice needs the line
    if folder is None:
        scope.complain(line.number, ".include works in a file only; paste the lines here instead")
        return
    reading.includes += 1
    root = folder.resolve()
    path = (root / named).resolve()
    if not path.is_relative_to(root) or path.suffix.lower() not in (".cir", ".inc", ".lib", ".mod"):
        scope.complain(
            line.number, ".include may only name a .cir, .inc, .lib or .mod file below the circuit's own folder"
        )
    elif depth >= DEEPEST_INCLUDE or reading.includes > MOST_INCLUDES:
        scope.complain(line.number, ".include nested too deep, or in a circle")
    elif not path.is_file() or path.stat().st_size > MOST_CHARACTERS:
        scope.complain(line.number, f".include: there is no such file of at most {MOST_CHARACTERS // 1000} kB here")
    else:
        lines = logical_lines(path.read_text(encoding="utf-8-sig"), titled=False)
        _sort_lines(tuple(replace(row, number=line.number) for row in lines), reading, folder, depth + 1)


def _block(word: str, params: Mapping[str, float], line: int, reading: _Reading) -> Block | None:
    key = word.lower()
    definition = reading.definitions.get(key) or reading.library.get(key)
    if definition is None:
        known = [d.name for d in (*reading.definitions.values(), *reading.library.values())]
        near = nearest_name(word, known)
        reading.scope.complain(
            line,
            f"there is no .subckt {word!r}"
            + (f"; nearest: {near}" if near else "")
            + f"; known: {', '.join(sorted(known)) or 'none'}",
        )
        return None
    block = open_block(definition, params, {**reading.library, **reading.definitions}, reading.scope, line)
    if block is not None:
        reading.used[block.name] = block
    return block


def _parts(reading: _Reading) -> dict[str, Part]:
    netlist: dict[str, Part] = {}
    seen: dict[str, Part] = {}
    for line in reading.elements:
        part = read_element(line, reading.scope)
        if part is None:
            continue
        if part.name.casefold() in seen:
            first = seen[part.name.casefold()]
            reading.scope.complain(
                line.number, f"{part.name} stands on line {first.line} already; give this one another name"
            )
            continue
        seen[part.name.casefold()] = part
        netlist[part.name] = part
        if len(netlist) > MOST_PARTS:
            reading.scope.complain(line.number, f"more than {MOST_PARTS} parts")
            break
    return netlist


def _with_facts(netlist: dict[str, Part], facts: FactReader) -> dict[str, Part]:
    find = {name.casefold(): name for name in netlist}
    for name, row in facts.tables("parts").items():
        key = find.get(name.casefold())
        if key is None:
            near = nearest_name(name, netlist)
            facts.complain(f"there is no part {name!r}" + (f"; nearest: {near}" if near else ""), "[parts]", name)
        else:
            netlist[key] = facts.part(netlist[key], row)
    return netlist


def _node_facts(facts: FactReader, scope: Scope) -> dict[str, NodeFacts]:
    found = {}
    for name, row in facts.tables("nodes").items():
        spelled = scope.nodes.get(name.casefold())
        if spelled is None:
            near = nearest_name(name, scope.nodes.values())
            facts.complain(f"there is no node {name!r}" + (f"; nearest: {near}" if near else ""), "[nodes]", name)
        else:
            found[spelled] = facts.node(spelled, row)
    return found
