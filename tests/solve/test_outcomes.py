"""Circuits that remember, starve, oscillate or feed back: each with the outcome that a bench would show."""

import pytest
import shouldread as sr
from shouldread.solve import Network, Solution

from tests.benchmarks.engine.boards import ill_board

PAIR = """RA{k} V{k} A{k} 1k
RB{k} V{k} B{k} 1k
RC{k} A{k} P{k} {to_p}
RD{k} B{k} Q{k} {to_q}
QP{k} B{k} P{k} 0 QN
QQ{k} A{k} Q{k} 0 QN
"""
MODEL = ".model QN NPN(IS=1e-14 BF=100)\n"
TWO_LATCHES = (
    "* two latches that share nothing but ground\nV1 V1 0 5\nV2 V2 0 3.3\n"
    + PAIR.format(k=1, to_p="8.2k", to_q="12k")
    + PAIR.format(k=2, to_p="12k", to_q="8.2k")
    + MODEL
)
SELF_HELD = """* a regulator whose enable is tied to its output
V1 VIN 0 5
{start}
X2 VIN EN FB OUT 0 REGULATOR vref=0.8 ven=1.2 uvlo=2.5
R1 OUT FB 31.2k
R2 FB 0 10k
R3 OUT 0 33
R9 EN OUT 1m
"""
STARVED = """* a supply in current limit feeds a converter
X1 VIN 0 SUPPLY vset=12 ilim={ilim}
X2 VIN VIN FB OUT 0 BUCK vref=0.8 ven=1.2 uvlo={uvlo} eta=0.9
R1 OUT FB 52.5k
R2 FB 0 10k
R3 OUT 0 {load}
"""


def high(rail: float, to_base: float) -> float:
    """Collector of the transistor that is off: the load resistor and the other one's base (Ohm; 0.7 V at a base)."""
    return rail - (rail - 0.7) * 1e3 / (1e3 + to_base)


def standing(solution: Solution, node: str) -> list[float]:
    """What a node stands at in each answer, the one from power-up first."""
    return [solution.volts[node], *(answer[node] for answer in solution.outcome.others)]


def test_two_latches_have_four_answers_and_power_up_takes_the_favoured_one() -> None:
    """Each pair goes to the transistor whose base has the smaller resistor, as the rail rises from nothing."""
    solution = sr.solve(sr.load_circuit(TWO_LATCHES))
    assert solution.outcome.word == "several"
    assert solution.volts["A1"] == pytest.approx(high(5, 8.2e3), abs=0.02) and solution.volts["B1"] < 0.15
    assert solution.volts["B2"] == pytest.approx(high(3.3, 8.2e3), abs=0.02) and solution.volts["A2"] < 0.15
    both = list(zip(standing(solution, "A1"), standing(solution, "A2"), strict=True))
    assert sorted((a > 1, b > 1) for a, b in both) == [(False, False), (False, True), (True, False), (True, True)]
    for volts in standing(solution, "A1"):
        assert min(abs(volts - high(5, 8.2e3)), abs(volts - 0.07)) < 0.03, "no answer on the ridge between two"


def test_both_latches_are_named() -> None:
    outcome = sr.solve(sr.load_circuit(TWO_LATCHES)).outcome
    assert {"A1", "B1", "A2", "B2"} <= set(outcome.nodes)


@pytest.mark.parametrize("fault", ["QP1 collector open", "RC1 open"])
def test_a_latch_that_lost_its_loop_has_one_answer_and_the_other_keeps_two(fault: str) -> None:
    solution = sr.solve(sr.load_circuit(TWO_LATCHES), fault=fault)
    assert solution.outcome.word == "several"
    assert len(solution.outcome.others) == 1
    first = standing(solution, "A1")
    assert first[0] == pytest.approx(first[1], abs=1e-6)


def test_an_enable_that_only_the_output_feeds_has_two_answers() -> None:
    """Off nothing starts it, on it holds itself: 0.8 V x (1 + 31.2k / 10k)."""
    solution = sr.solve(sr.load_circuit(SELF_HELD.format(start="")))
    assert solution.outcome.word == "several" and {"EN", "OUT"} <= set(solution.outcome.nodes)
    assert solution.volts["OUT"] < 0.05, "power-up leaves it off"
    off, on = sorted(standing(solution, "OUT"))
    assert off == pytest.approx(0, abs=0.05) and on == pytest.approx(0.8 * 4.12, rel=0.01)


def test_an_enable_fed_from_the_input_starts_and_then_holds_itself() -> None:
    """A stronger pull-up than the load lets the enable rise, and the output with it."""
    solution = sr.solve(sr.load_circuit(SELF_HELD.format(start="R0 VIN EN 10")))
    assert solution.volts["OUT"] == pytest.approx(3.5, abs=0.5) and solution.outcome.word == "solved"


@pytest.mark.parametrize("load", [20, 10])
def test_a_supply_that_can_feeds_its_converter(load: float) -> None:
    """Power: 5 V x 5 V / load over 0.9 is less than 12 V x 0.5 A."""
    solution = sr.solve(sr.load_circuit(STARVED.format(ilim=0.5, uvlo=4, load=load)))
    assert solution.outcome.word == "solved"
    assert solution.volts["OUT"] == pytest.approx(5, rel=0.01) and solution.volts["VIN"] == pytest.approx(12, rel=0.01)
    assert solution.amps["X1"] == pytest.approx(-25 / load / 0.9 / 12, rel=0.02)


@pytest.mark.parametrize("load", [4.17, 3])
def test_a_supply_that_cannot_lets_its_converter_hiccup(load: float) -> None:
    """Above 6 W the supply's volts fall until the lockout lets go, and it starts again."""
    solution = sr.solve(sr.load_circuit(STARVED.format(ilim=0.5, uvlo=4, load=load)))
    assert solution.outcome.word == "no steady state" and "X2" in solution.outcome.nodes


def test_without_a_lockout_a_starved_converter_stays_down() -> None:
    """In dropout all of the limit's current goes through: 0.5 A x 3 ohm."""
    solution = sr.solve(sr.load_circuit(STARVED.format(ilim=0.5, uvlo=0.5, load=3)))
    assert solution.outcome.word == "solved"
    assert solution.volts["OUT"] == pytest.approx(0.5 * 3, rel=0.01)


def test_a_shorted_diode_feeds_the_weaker_feed_back() -> None:
    """Ohm and one diode drop: 12 V less a drop stands on a 5 V feed that is absent, across its own load."""
    circuit = sr.load_circuit(
        "* two feeds or-ed\nV1 A 0 12\nV2 B 0 5\nD1 A OUT DX\nD2 B OUT DX\nR1 OUT 0 1k\nR2 B 0 1k\n.model DX D(IS=1e-8)\n"
    )
    healthy, fed = sr.solve(circuit), sr.solve(circuit, fault="D2 short + V2 absent")
    assert healthy.outcome.word == fed.outcome.word == "solved"
    assert abs(healthy.amps["V2"] + 5e-3) < 1e-6, "the weaker feed carries its own load alone"
    assert 11 < fed.volts["B"] < 12 and fed.volts["B"] == pytest.approx(fed.volts["OUT"], rel=1e-3)
    pushed = sr.solve(circuit, fault="D2 short")
    assert pushed.amps["V2"] > 0, "both present: current goes into the weaker one"


def test_a_board_that_rests_once_it_runs_is_not_told_to_have_no_steady_state() -> None:
    """Its switches go round on the way up; ngspice's operating point, asked by itself, is where it runs."""
    solution = sr.solve(sr.load_circuit("sensor_gateway"), state="on_plug", fault="X3 out of tolerance")
    assert solution.outcome.word == "solved"
    assert solution.volts["3V3"] == pytest.approx(3.295, abs=2e-3)
    assert solution.volts["VMAIN"] == pytest.approx(4.408, abs=2e-3)


@pytest.mark.parametrize("input_from", ["RAIL", "LOGIC"])
def test_an_amplifier_without_its_feed_does_not_make_one(input_from: str) -> None:
    """What drives its input passes no energy to the rail that is missing; its output has nothing to stand on."""
    text = f"""* the feed of an amplifier comes through one resistor
V1 IN 0 12
V2 LOGIC 0 3.3
R1 IN RAIL 10
X1 {input_from} FB OUT RAIL 0 AMPLIFIER
R2 OUT FB 10k
R3 FB 0 10k
"""
    solution = sr.solve(sr.load_circuit(text), fault="R1 open")
    assert solution.outcome.word == "solved"
    assert abs(solution.volts["RAIL"]) < 1e-6
    assert abs(solution.volts["OUT"]) < 0.05


def test_a_blocked_diode_is_blocked_in_the_slopes_at_rest() -> None:
    """At rest nothing is left over at any node (Kirchhoff), and a diode below its breakdown carries next to nothing."""
    text = "* blocked\nV1 IN 0 5\nR1 IN A 10k\nD1 0 A DX\n.model DX D(IS=1e-9 N=1.5 BV=75 IBV=5u)\n"
    network = Network(sr.load_circuit(text))
    slopes, balance = network.start.matrix()
    here = network.node("A")
    assert abs(balance).max() < 1e-12
    assert slopes[here, here] == pytest.approx(1 / 10e3, rel=1e-4)


def test_a_board_driven_without_limit_is_answered_and_not_an_error() -> None:
    """Found among two thousand random boards: an amplifying source drives a junction beyond what a number holds."""
    assert sr.solve(ill_board(910194426).circuit).outcome.word in ("solved", "floating", "several", "failed")


RUNS_AWAY = """* a node that feeds itself more than its load takes, until a contact closes
I1 0 A 1m
G1 0 A A 0 1m
R1 A 0 2k
D1 0 A DX
S1 A 0 A 0 SX
.model DX D(IS=1e-12)
.model SX SW(VT=50 VH=49 RON=1k ROFF=1e9)
"""


def test_a_node_that_runs_away_is_caught_by_the_contact_that_closes_on_its_way() -> None:
    """No balance while it is open; closed, Ohm and Kirchhoff: 1 mA / (1/1k + 1/2k - 1 mS) = 2 V, above where it opens."""
    solution = sr.solve(sr.load_circuit(RUNS_AWAY))
    assert solution.outcome.word == "solved" and solution.bits["S1"] == 1
    assert solution.volts["A"] == pytest.approx(2.0, rel=1e-6)


def test_a_node_that_nothing_catches_has_no_operating_point() -> None:
    solution = sr.solve(sr.load_circuit(RUNS_AWAY), fault="S1 open")
    assert solution.outcome.word == "failed"
    assert all(volts != volts for volts in solution.volts.values())


def test_an_amplifier_fed_back_to_its_plus_input_stands_at_either_rail() -> None:
    """A Schmitt trigger between its thresholds has no transistor of its own to force; half of the output comes back."""
    solution = sr.solve(
        sr.load_circuit(
            "* schmitt\nV1 RAIL 0 5\nV2 REF 0 2.5\nR1 REF P 10k\nR2 OUT P 10k\nX1 P REF OUT RAIL 0 AMPLIFIER\n"
        )
    )
    assert solution.outcome.word == "several" and {"OUT", "P"} <= set(solution.outcome.nodes)
    low, high = sorted(standing(solution, "OUT"))
    assert low < 0.2 and high > 4.8
    assert sorted(standing(solution, "P")) == pytest.approx([(2.5 + low) / 2, (2.5 + high) / 2], abs=1e-3)


def test_gains_and_diodes_alone_keep_what_they_were_told() -> None:
    """Two stages of gain 3 in a ring, clamped by diodes at 0.7 V either way: up and down are stable, zero is not."""
    solution = sr.solve(
        sr.load_circuit(
            "* ring\nG1 0 A B 0 3m\nR1 A 0 1k\nD1 A 0 DX\nD2 0 A DX\nG2 0 B A 0 3m\nR2 B 0 1k\nD3 B 0 DX\nD4 0 B DX\n"
            ".model DX D(IS=1e-12)\n"
        )
    )
    assert solution.outcome.word == "several"
    low, high = sorted(standing(solution, "A"))
    assert high == pytest.approx(-low, abs=1e-6) and 0.5 < high < 0.7


def test_ten_kilovolts_across_a_bridge_are_balanced_to_the_last_digits() -> None:
    """1 uA in 10 Gohm; at the bridge's 10 mohm rounding of 10 kV is 0.2 nA, of which nothing may reach the reading."""
    solution = sr.solve(
        sr.load_circuit("* bridged\nI1 0 A 1u\nR1 A 0 1e10\nR2 A B 10m\nG1 0 OUT B 0 1e-5\nR3 OUT 0 10\n")
    )
    assert {"A", "B"} == set(solution.outcome.floating)
    assert solution.volts["OUT"] == pytest.approx(1.0, rel=1e-11)
