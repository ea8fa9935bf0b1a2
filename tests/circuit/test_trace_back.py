"""Words and netlist are two views of one stage."""

import pytest
from shouldread.circuit import Trace, load_circuit, shelf, traced
from shouldread.errors import RequestError


@pytest.mark.parametrize("name", shelf().names)
def test_every_circuit_of_the_shelf_is_told_in_lines_and_comes_back(name: str) -> None:
    circuit = load_circuit(name)
    trace = traced(circuit)
    back = trace.circuit
    assert back is not None and not [row.wrong for row in trace.rows if row.wrong]
    assert back.nodes == circuit.nodes or set(back.nodes) == set(circuit.nodes)
    for part in circuit.netlist.values():
        twin = back.part(part.name)
        assert (twin.nodes, twin.value, twin.facts, twin.settings) == (
            part.nodes,
            part.value,
            part.facts,
            part.settings,
        )
    assert back.states == circuit.states and back.faults == circuit.faults and back.rest == circuit.rest


def test_the_usual_stage_is_told_in_words_alone() -> None:
    lines = traced(load_circuit("two_feed_enable")).lines
    assert lines[:3] == ("VMAIN at 12V_MAIN 12", "VAUX at 12V_AUX 12", "RJ1 from 12V_AUX to AUX_IN contact 20m")
    assert "Q1 npn c X b B1 e GND" in lines
    assert not [line for line in lines if line.startswith("netlist")]


def test_lines_and_netlist_go_round() -> None:
    """Two-in-one packages, their inside, unsure ends, ranges and ratings come back as the same words."""
    lines = (
        "Q7 npn prebiased pair 10k 47k c1 X b1 B1 e1 GND c2 EN b2 X e2 GND?",
        "F1 from 12V to A fuse 50m 2A",
        "R1 from A to B1 47k ± 1 %",
        "R2 from X to 12V ?",
        "Q1 npn | npn prebiased c EN b X e GND",
        "Q8 npn bec c OUT b X e GND",
        "V1 at 12V 12 ± 8 %",
    )
    trace = Trace(lines, "stage")
    assert not [row.wrong for row in trace.rows if row.wrong]
    assert traced(load_circuit(trace.netlist)).lines == lines
    assert traced(load_circuit(trace.netlist)).netlist == trace.netlist


def test_a_netlist_that_was_changed_by_hand_changes_the_words() -> None:
    trace = Trace.read("R1 from A to B 10k\nR2 from B to GND ?\nV1 at A 12", "stage")
    text = trace.netlist.replace("R1 A B 10k", "R1 A B 22k\nC1 B 0 100n")
    assert traced(load_circuit(text)).lines == (
        "R1 from A to B 22k",
        "C1 from B to GND 100n",
        "R2 from B to GND ?",
        "V1 at A 12",
    )


def test_a_fault_is_not_traced() -> None:
    with pytest.raises(RequestError, match="trace the board as it should be"):
        traced(load_circuit("two_feed_enable").with_fault("L1 open"))


def test_what_else_hangs_there_is_kept() -> None:
    """A file that says more hangs on every node keeps saying so, between two parts in series too."""
    text = (
        "* feed\n*: rest = 'unknown'\nV1 IN 0 12\nRF1 IN MID 50m\nL1 MID OUT 10u\nR1 OUT 0 1k\n"
        "*: [parts]\n*: RF1 = { detail = 'fuse' }\n"
    )
    back = traced(load_circuit(text)).circuit
    assert back is not None and back.rest == "unknown" and back.node_facts["MID"].rest == "unknown"
    typed = Trace.read("V1 at IN 12\nF1 from IN to MID\nL1 from MID to OUT 10u\nR1 from OUT to GND 1k")
    assert typed.circuit.node_facts["MID"].rest == "none", "one unseen path for what is one wire: at its end"
    assert traced(load_circuit(typed.netlist)).netlist == typed.netlist
