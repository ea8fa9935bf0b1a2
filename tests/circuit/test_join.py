"""Stages joined on one board read as the same board written in one file."""

import pytest
from shouldread import KitError, expect, load_circuit, solve
from shouldread.errors import RequestError, UnknownNameError
from shouldread.reference import second_opinion

FEED = """feed
*: [states]
*: run = {}
*: low = { V1 = "9 V" }
.model D1 D(IS=1e-12)
V1 IN 0 12
D1 IN OUT D1
RL OUT 0 10k
"""
LAMP = """lamp
*: rest = "unknown"
*: neighbours = [["A", "K"]]
*: [states]
*: run = {}
*: dim = { RB = "10k" }
.model D1 D(IS=1e-18 N=2)
V1 A 0 5
RB A K 1k
D1 K 0 D1
"""
WHOLE = """whole
*: [states]
*: run = {}
*: low = { V1 = "9 V" }
*: dim = { B_RB = "10k" }
.model D1 D(IS=1e-12)
.model B_D1 D(IS=1e-18 N=2)
V1 IN 0 12
D1 IN OUT D1
RL OUT 0 10k
RB_RB OUT B_K 1k
DB_D1 B_K 0 B_D1
"""


def test_joined_reads_as_written_in_one_file() -> None:
    joined = load_circuit(FEED).join(load_circuit(LAMP), connect={"OUT": "A"}, prefix="B_")
    whole = load_circuit(WHOLE.replace("B_RB =", "RB_RB ="))
    assert joined.states == ("run", "low", "dim") and joined.parts == ("V1", "D1", "RL", "B_RB", "B_D1")
    for state in joined.states:
        volts = solve(joined, state=state).volts
        assert volts == pytest.approx(dict(solve(whole, state=state).volts), rel=1e-9, abs=1e-8)
        assert max(second_opinion(joined, state=state).difference.values()) < 1e-6
    assert joined.notes == ("joined: V1 of circuit left out, the joined node is fed by this circuit",)


def test_what_was_known_of_the_edges_stays_with_each_node() -> None:
    joined = load_circuit(FEED).join(load_circuit(LAMP), connect={"OUT": "A"}, prefix="B_")
    assert joined.rest == "none" and joined.node_facts["B_K"].rest == "unknown"
    assert joined.neighbours == (("OUT", "B_K"),)


def test_names_of_both_need_a_prefix_and_nodes_must_be_there() -> None:
    feed, lamp = load_circuit(FEED), load_circuit(LAMP)
    with pytest.raises(RequestError, match=r'D1.*give prefix="B_"'):
        feed.join(lamp, connect={"OUT": "A"})
    with pytest.raises(UnknownNameError, match=r"OUTT.*nearest: OUT"):
        feed.join(lamp, connect={"OUTT": "A"}, prefix="B_")
    with pytest.raises(KitError, match="then put into the joined one: RB open"):
        feed.join(lamp.with_fault("RB open"), connect={"OUT": "A"}, prefix="B_")


def test_shelf_stages_join_and_offer_the_faults_of_both() -> None:
    filter_, regulator = load_circuit("input_filter"), load_circuit("ldo_adjustable")
    board = filter_.join(regulator, connect={"VOUT": "VIN"}, prefix="B_")
    assert solve(board).volts["B_VOUT"] == pytest.approx(solve(regulator).volts["VOUT"], abs=0.01)
    assert {"L1 open", "B_R1 open"} <= set(board.faults)
    assert expect(board)["B_VOUT"].under("L1 open").high < 1.5
