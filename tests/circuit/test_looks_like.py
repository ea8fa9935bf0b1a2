"""A traced stage is known again on the shelf, whatever its names and values."""

import random
from dataclasses import replace

import pytest
from shouldread.circuit import Trace, load_circuit, looks_like, shelf, traced

ACTIVE = [
    entry.name
    for entry in shelf()
    if entry.sort == "fragment" and any(p.kind in "QM" for p in load_circuit(entry.name).netlist.values())
]


@pytest.mark.parametrize("name", ACTIVE)
def test_every_stage_with_a_transistor_is_known_under_other_names_in_another_order(name: str) -> None:
    circuit = load_circuit(name)
    nodes = {node: "0" if node == "0" else f"N{number}" for number, node in enumerate(circuit.nodes)}
    parts = [replace(part, nodes=tuple(nodes[n] for n in part.nodes)) for part in circuit.netlist.values()]
    random.Random(1).shuffle(parts)
    best = looks_like(replace(circuit, netlist={part.name: part for part in parts}))[0]
    assert (best.name, best.share, best.differences) == (name, 1.0, ())
    assert best.nodes["0"] == "0" and all(nodes[theirs] == mine for mine, theirs in best.nodes.items())


def test_differences_are_told() -> None:
    trace = Trace.read(
        "R1 from FEED to B1 ?\nQ1 npn c X b B1 e GND\nR3 from 12V_MAIN to X 47k\nR4 from X to B2 10k\n"
        "Q2 npn c EN b B2 e GND\nR6 from 12V_MAIN to EN 42.2k\nR7 from EN to GND 100k\nR9 from EN to PG 1k"
    )
    best = looks_like(trace.circuit)[0]
    assert best.name == "two_feed_enable" and best.parts["R7"] == "R7" and best.nodes["X"] == "X"
    assert "R7 is 100 kΩ, 10 kΩ on the shelf" in best.differences
    assert "on the shelf there is also a resistor of 47 kΩ between B2 and ground" in best.differences
    assert any(row.startswith("R9 (a resistor of 1 kΩ) is not on the shelf") for row in best.differences)
    assert not any("R1 is" in row for row in best.differences), "a value that nobody read is no difference"


def test_a_few_resistors_look_like_nothing() -> None:
    assert looks_like(Trace.read("R1 from A to B 1k\nR2 from B to GND 1k\nR3 from B to C 1k").circuit) == ()


def test_polarity_counts() -> None:
    lines = traced(load_circuit("npn_inverter_enable")).text.replace(" npn ", " pnp ")
    assert "npn_inverter_enable" not in [like.name for like in looks_like(Trace.read(lines).circuit)]
