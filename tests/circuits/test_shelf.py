"""Every circuit of the shelf, walked: whole, solved, read, failed, written back, and asked of ngspice.

No circuit has a line here: a new file is tested by being there.
"""

import math
import re
import subprocess
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shouldread as sr
from shouldread.circuit import Circuit, KnownReading
from shouldread.faults import fault_edits
from shouldread.meter import measure
from shouldread.parts import KINDS
from shouldread.quantities import Spread
from shouldread.solve import Network

NAMES = sr.shelf().names
FAILED = 1  # status of a lane that no answer was found for
GOOD_SOURCES = re.compile(
    r"common practice, no source|from memory|ngspice \d+|Ohm\b|data sheets?\b|IEC \d|ISO \d|TIA-\d|contract of|regulator"
)
REACH = ("easy", "fair", "hard", "none")
TOLD = ("title", "about", "teaches", "mistake", "tells")


@cache
def circuit(name: str) -> Circuit:
    return sr.load_circuit(name)


def path_of(name: str) -> Path:
    return next(entry.path for entry in sr.shelf() if entry.name == name)


@pytest.mark.parametrize("name", NAMES)
def test_it_tells_what_it_is_and_teaches(name: str) -> None:
    """Title, what it does, what it teaches, the classic mistake, the tells; a word and a reach for every node."""
    c = circuit(name)
    missing = [what for what in TOLD if not c.facts.get(what)]
    for node in c.nodes:
        facts = c.node_facts.get(node)
        if node != "0" and (facts is None or not facts.about):
            missing.append(f"{node}: about")
        elif node != "0" and facts is not None and facts.reach not in REACH:
            missing.append(f"{node}: reach is one of {', '.join(REACH)}")
    strays = [node for node in c.node_facts if node not in c.nodes]
    missing += [f"{node}: facts of a node that is not there" for node in strays]
    missing += [f"{p.name}: which IC it is" for p in c.netlist.values() if p.block and not p.facts.get("about")]
    assert not missing, "\n".join(missing)


@pytest.mark.parametrize("name", NAMES)
def test_its_known_readings_are_sourced(name: str) -> None:
    """Every state has a known reading, some hold under a fault, and each says where it comes from."""
    c = circuit(name)
    missing = [f"line {r.line}: source" for r in c.readings if not GOOD_SOURCES.search(r.source)]
    fed = {c.state(r.state or None).name for r in c.readings if r.setting in ("volts", "amps")}
    missing += [f"a reading in the state {state}" for state in c.state_table if state not in fed]
    missing += ["a reading under a fault"] if not any(r.fault for r in c.readings) else []
    assert not missing, "\n".join(missing)


def remembers(c: Circuit, state: str) -> bool:
    """Whether another state is fed and driven just so: what differs is how it was reached."""

    def values(name: str) -> dict[str, object]:
        sets = c.state_table[name].sets
        nominal = {p.name: p.value.nominal for p in c.netlist.values() if p.value is not None}
        return {**nominal, **sets}

    return any(values(other) == values(state) for other in c.state_table if other != state)


@pytest.mark.parametrize("name", NAMES)
def test_it_stands_still_in_every_state(name: str) -> None:
    """One answer in each of its states, healthy; several only where its states tell them apart by history."""
    c = circuit(name)
    for state in c.state_table:
        outcome = sr.solve(c, state=state).outcome
        allowed = {"solved", "floating"} | ({"several"} if remembers(c, state) else set())
        assert outcome.word in allowed, f"{state}: {outcome.sentence}"


@pytest.mark.parametrize("name", NAMES)
def test_currents_into_each_node_sum_to_zero(name: str) -> None:
    """Kirchhoff's current law, from the amps of pins that the solution gives."""
    c = circuit(name)
    for state in c.state_table:
        solution = sr.solve(c, state=state)
        into: dict[str, list[float]] = {}
        for part in c.netlist.values():
            for pin, node in zip(part.pins, part.nodes, strict=True):
                into.setdefault(node, []).append(solution.pin_amps[f"{part.name}.{pin}"])
        for node, amps in into.items():
            if node != "0":
                assert sum(amps) == pytest.approx(0, abs=1e-9 + 1e-6 * max(map(abs, amps))), f"{node} @{state}"


def rows() -> Iterator[tuple[str, int]]:
    for name in NAMES:
        yield from ((name, index) for index in range(len(circuit(name).readings)))


def called(name: str, index: int) -> str:
    r = circuit(name).readings[index]
    words = [r.at, f"to {r.to}" if r.to else "", r.setting, r.state, f"under {r.fault}" if r.fault else ""]
    return f"{name}: {' '.join(filter(None, words))}"


def holds(value: Spread, shown: float) -> bool:
    if math.isinf(value.nominal):
        return math.isinf(shown)
    return value.low - 1e-12 <= shown <= value.high + 1e-12


@pytest.mark.parametrize(("name", "index"), [pytest.param(*row, id=called(*row)) for row in rows()])
def test_a_known_reading_holds(name: str, index: int) -> None:
    """What the kit says a meter shows lies within what the file promises."""
    r: KnownReading = circuit(name).readings[index]
    shown = measure(
        circuit(name),
        r.at,
        r.to,
        setting=r.setting,
        state=r.state or None,
        fault=r.fault or None,
        condition=r.condition or None,
    )
    assert holds(r.value, shown.value), f"line {r.line}: {shown.text}, promised {r.value.low:g} to {r.value.high:g}"


@pytest.mark.parametrize("name", NAMES)
def test_every_fault_is_solved(name: str) -> None:
    """Each single fault, in the first state, has an answer (or hiccups, which is one); none fails."""
    c = circuit(name)
    assert len(set(c.faults)) == len(c.faults) > 5
    failed = []
    for fault in c.single_faults:
        points = Network(c, edits=fault_edits(fault, c.netlist.values())).solve()
        if points.status[0] == FAILED:
            failed.append(str(fault))
    assert not failed, "\n".join(failed)


@pytest.mark.parametrize("name", NAMES)
def test_it_reads_back_what_it_writes(name: str) -> None:
    """to_spice of each state, read again: the same volts, or one of the answers where there are several.

    A converter's averaged row is for models/ only, so that a text with one is for ngspice (the test below).
    """
    c = circuit(name)
    for state in c.state_table:
        solution = sr.solve(c, state=state)
        text = c.to_spice(state, bits=solution.bits)
        assert text.count("\n.model") >= len({p.model.name for p in c.netlist.values() if p.model})
        if re.search(r"(?m)^B", text) is None:
            again = sr.solve(sr.load_circuit(text))
            answers = [again.volts, *again.outcome.others]
            assert any(same(solution.volts, answer) for answer in answers), f"@{state}"


def same(ours: Mapping[str, float], theirs: Mapping[str, float]) -> bool:
    """Whether two answers agree at every node that both know and that does not float."""
    shared = [node for node in ours if node in theirs and not math.isnan(ours[node])]
    assert len(shared) > len(ours) / 2
    return all(theirs[node] == pytest.approx(ours[node], rel=1e-6, abs=2e-6) for node in shared)


def differing(volts: Mapping[str, float], found: Mapping[str, float]) -> list[str]:
    """Nodes where ngspice's volts are not the kit's."""
    wrong = []
    for node, ours in volts.items():
        theirs = found.get(f"v({node.lower()})")
        if theirs is not None and not math.isnan(ours) and abs(theirs - ours) > 1e-6 * abs(theirs) + 2e-6:
            wrong.append(f"{node}: {ours!r} here, {theirs!r} in ngspice")
    return wrong


def by_ngspice(text: str, folder: Path) -> dict[str, float]:
    """Node volts that ngspice finds for a netlist, by lower-case node name."""
    (folder / "deck.cir").write_text(text, encoding="utf-8")
    command = ["ngspice", "-n", "-b", "-r", "out.raw", "deck.cir"]
    told = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=60, check=False)
    raw = folder / "out.raw"
    assert raw.exists(), told.stdout + told.stderr
    head, _, data = raw.read_bytes().partition(b"Binary:\n")
    names = [row.split(b"\t")[2].decode() for row in head.split(b"\n") if row.startswith(b"\t")]
    return dict(zip(names, np.frombuffer(data[: 8 * len(names)]), strict=True))


@pytest.mark.parametrize("name", NAMES)
def test_ngspice_runs_the_file_as_it_is(name: str, tmp_path: Path) -> None:
    """The untouched file, blocks included from models/, gives the volts of the first state (ngspice -b).

    Winding resistance is a fact that a SPICE inductor does not have: files whose coils carry one are asked of
    ngspice as to_spice writes them.
    """
    c = circuit(name)
    solution = sr.solve(c)
    text = path_of(name).read_text(encoding="utf-8")
    if any(p.kind == "L" and "dcr" in p.facts for p in c.netlist.values()):
        text = c.to_spice(bits=solution.bits)
    models = path_of(name).parent.parent / "models"
    text = text.replace(".include ../models", f".include {models}")
    text = re.sub(r"(?m)^\.end\s*$", ".options reltol=1e-9 vntol=1e-10 abstol=1e-12\n.op\n.end", text)
    found = by_ngspice(text, tmp_path)
    wrong = differing(solution.volts, found)
    if wrong:  # ngspice stopped on its way: asked again from the kit's answer, where it stays only if that is one
        known = {n: v for n, v in solution.volts.items() if n != "0" and not math.isnan(v)}
        start = "\n".join(f".nodeset v({node})={volts!r}" for node, volts in known.items())
        found = by_ngspice(text.replace("\n.op\n", f"\n{start}\n.op\n"), tmp_path)
        wrong = differing(solution.volts, found)
    seen = sum(f"v({node.lower()})" in found for node in c.nodes)
    assert seen >= 0.6 * (len(c.nodes) - 1), f"ngspice shows {sorted(found)}"
    assert not wrong, "\n".join(wrong)


def test_every_kind_of_component_is_on_the_shelf() -> None:
    """Each kind and each named variety that can fail is used by some circuit; each block of models/ too."""
    parts = [part for name in NAMES for part in circuit(name).netlist.values()]
    used = {(part.kind, str(part.facts.get("detail", ""))) for part in parts}
    seldom = {("R", "wirewound"), ("R", "network"), ("L", "transformer"), ("L", "coil")}
    kinds = {(k.letter, d.name) for k in KINDS.values() for d in k.details.values() if d.modes and d.name}
    assert not sorted(kinds - used - seldom)
    assert not sorted({k.letter for k in KINDS.values() if not k.stand_in} - {kind for kind, _ in used})
    folder = path_of(NAMES[0]).parent.parent / "models"
    blocks = {part.block.name for part in parts if part.block is not None}
    assert {path.stem.upper() for path in folder.glob("*.cir")} == blocks


def test_there_are_enough_of_them() -> None:
    """A shelf worth looking at: three dozen stages and three whole boards."""
    sorts = [entry.sort for entry in sr.shelf()]
    assert sorts.count("fragment") >= 36 and sorts.count("board") >= 3
