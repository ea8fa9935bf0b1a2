"""What people and outside checks rely on: numbers of the solver, worked by hand from Ohm's and Kirchhoff's laws."""

import math

import pytest
import shouldread as sr

DIVIDER = """* two resistors
V1 IN 0 12
R1 IN MID 1Meg
R2 MID 0 1Meg
.end
"""
PAIR = """* a chain seen through a meter
V1 IN 0 12
R1 IN A 1Meg
R2 A B 4Meg
R3 B 0 1Meg
.end
"""


def volts(text: str, node: str, **how: object) -> float:
    return sr.solve(sr.load_circuit(text), **how).volts[node]


def test_the_meter_loads_what_it_reads() -> None:
    assert volts(DIVIDER, "MID") == pytest.approx(6.0, abs=1e-9)
    assert volts(DIVIDER, "MID", meter_at="MID") == pytest.approx(12 * 10 / 21, rel=1e-9)
    assert volts(PAIR, "A", meter_at="A") == pytest.approx(9.231, abs=1e-3)
    assert volts(PAIR, "B", meter_at="B") == pytest.approx(1.846, abs=1e-3)
    both = sr.solve(sr.load_circuit(PAIR), meter_at=("A", "B"))
    assert both.volts["A"] - both.volts["B"] == pytest.approx(7.059, abs=1e-3)


def test_a_sources_amps_are_negative_when_it_delivers() -> None:
    solution = sr.solve(sr.load_circuit("* load\nV1 A 0 10\nR1 A 0 10\n"))
    assert solution.amps["V1"] == pytest.approx(-1.0)
    assert solution.amps["R1"] == pytest.approx(1.0)
    assert solution.pin_amps["R1.1"] == pytest.approx(1.0)
    assert solution.pin_amps["R1.2"] == pytest.approx(-1.0)


def test_ideal_sources_and_coils_are_exact() -> None:
    solution = sr.solve(sr.load_circuit("* 3 A\nV1 A 0 3\nL1 A B 10u\nR1 B 0 1\n"))
    assert solution.volts["A"] - solution.volts["B"] == 0.0
    assert solution.amps["L1"] == pytest.approx(3.0)


def test_an_ideal_loop_fails_and_names_its_parts() -> None:
    solution = sr.solve(sr.load_circuit("* fight\nV1 A 0 5\nV2 A 0 3\nR1 A 0 1k\n"))
    assert solution.outcome.word == "failed"
    assert "V1" in solution.outcome.sentence and "V2" in solution.outcome.sentence
    assert all(math.isnan(v) for v in solution.volts.values())


def test_cut_parts_carry_exactly_nothing() -> None:
    circuit = sr.load_circuit("* cut\nV1 A 0 10\nR1 A B 1k\nR2 B 0 1k\n")
    solution = sr.solve(circuit, fault="R1 open")
    assert solution.amps["R1"] == 0.0
    assert solution.volts["B"] == pytest.approx(0.0, abs=1e-9)
    assert sr.solve(circuit, fault="V1 absent").amps["V1"] == 0.0
    shorted = sr.solve(circuit, fault="R1 short")
    assert shorted.amps["R1"] == pytest.approx(10 / (1e3 + 0.01), rel=1e-4)


def test_a_floating_node_is_nan_until_a_meter_is_on_it() -> None:
    circuit = sr.load_circuit("* float\nV1 A 0 10\nR1 A B 1k\nC1 B C 1u\nC2 C 0 1u\n")
    solution = sr.solve(circuit)
    assert solution.outcome.word == "floating" and "C" in solution.outcome.floating
    assert math.isnan(solution.volts["C"])
    assert sr.solve(circuit, meter_at="C").volts["C"] == pytest.approx(0.0, abs=1e-9)


def test_absent_and_zero_volts_differ_under_back_feed() -> None:
    text = (
        "* two feeds or-ed\nVA A 0 5\nVB B 0 5\nD1 A OUT DS\nD2 B OUT DS\nRL OUT 0 1k\n"
        ".model DS D(IS=1e-8 N=1.1 RS=0.1)\n"
        '*: [states]\n*: run = {}\n*: b_missing = { VB = "absent" }\n*: b_zero = { VB = 0 }\n'
    )
    circuit = sr.load_circuit(text)
    fed = sr.solve(circuit, fault="D2 short", state="b missing")
    assert fed.volts["B"] > 3
    held = sr.solve(circuit, fault="D2 short", state="b-zero")
    assert held.volts["OUT"] < 0.5


def test_cross_coupled_transistors_have_several_answers() -> None:
    text = (
        "* pair\nV1 VCC 0 5\nR1 VCC C1 1k\nR2 VCC C2 1k\nR3 C1 B2 10k\nR4 C2 B1 10k\n"
        "Q1 C1 B1 0 QN\nQ2 C2 B2 0 QN\n.model QN NPN(IS=1e-14 BF=100)\n"
    )
    solution = sr.solve(sr.load_circuit(text))
    assert solution.outcome.word == "several"
    assert abs(solution.volts["C1"] - solution.volts["C2"]) > 3
    assert solution.outcome.others


def test_a_chain_of_sixty_opened_anywhere() -> None:
    parts = "".join(f"R{i} N{i} N{i + 1} 1\n" for i in range(60))
    for end in ("R60 N60 0 10k\n", ""):
        circuit = sr.load_circuit(f"* chain\nV1 N0 0 12\n{parts}{end}")
        for i in (0, 1, 30, 58, 59):
            solution = sr.solve(circuit, fault=f"R{i} open")
            assert all(abs(solution.volts[f"N{k}"] - 12) < 1e-6 for k in range(i + 1))
            for k in range(i + 1, 61):
                found = solution.volts[f"N{k}"]
                assert abs(found) < 1e-6 if end else math.isnan(found)


LIMITED = """* a supply in current limit feeds a regulator with lockout
X1 VIN 0 SUPPLY vset=5 ilim={ilim}
X2 VIN VIN FB OUT 0 REGULATOR vref=0.8 ven=1.2 uvlo=2.5
R1 OUT FB 31.2k
R2 FB 0 10k
R3 OUT 0 {load}
.end
"""


def test_a_supply_in_limit_may_have_no_steady_state() -> None:
    weak = sr.solve(sr.load_circuit(LIMITED.format(ilim=0.2, load=5)))
    assert weak.outcome.word != "solved"
    strong = sr.solve(sr.load_circuit(LIMITED.format(ilim=1, load=5)))
    assert strong.volts["OUT"] == pytest.approx(3.3, rel=0.02)


def test_renaming_and_reordering_change_nothing() -> None:
    a = "* a\nV1 IN 0 12\nR1 IN B 47k\nR2 B 0 10k\nQ1 C B 0 QN\nR3 IN C 10k\n.model QN NPN(IS=7e-15 BF=180)\n"
    b = "* b\nr3 12in c 10000\nq1 c b 0 qn\nr2 0 b 10k\nr1 b 12in 47000\nv1 12in 0 12.0\n.model qn npn(bf=180 is=7f)\n"
    one, two = sr.solve(sr.load_circuit(a)), sr.solve(sr.load_circuit(b))
    for x, y in (("B", "b"), ("C", "c")):
        assert one.volts[x] == pytest.approx(two.volts[y], rel=1e-9, abs=1e-8)


def test_seven_planted_errors_are_told_by_line() -> None:
    text = "\n".join(
        [
            "* seven",
            "V1 IN 0 12",
            "R1 IN",
            "R2 IN MID 4k7x y",
            "Q1 A B 0 NOSUCH",
            "F1 A 0 V1 2",
            "R5 MID 0 -1k",
            "R6 MID 0 {1+}",
            "V1 IN 0 5",
            "K1 L1 L2 0.9",
            ".end",
        ]
    )
    with pytest.raises(sr.KitError) as told:
        sr.load_circuit(text)
    lines = [row for row in str(told.value).splitlines() if row.startswith("line ")]
    assert {int(row.split()[1].rstrip(":")) for row in lines} >= {3, 4, 5, 6, 8, 9, 10}


def test_unknown_names_tell_the_nearest() -> None:
    circuit = sr.load_circuit(DIVIDER)
    for call in (
        lambda: sr.solve(circuit, fault="R9 open"),
        lambda: sr.solve(circuit, fault="R1 opne"),
        lambda: sr.solve(circuit, state="runn"),
        lambda: sr.solve(circuit, meter_at="MIDD"),
        lambda: sr.expect(circuit, meter="handhelt"),
        lambda: sr.load_circuit("two_feed_enabel"),
    ):
        with pytest.raises(sr.KitError) as told:
            call()
        assert told.value.nearest is not None, str(told.value)


def test_a_written_netlist_has_its_switches_as_reached() -> None:
    """A switch with memory between its two levels: what it did before is in the netlist, by itself."""
    c = sr.load_circuit(
        """* memory
*: [states]
*: low = { V1 = "0 V" }
*: middle = { V1 = "2.5 V" }
*: high = { V1 = "5 V" }
*: middle_again = { V1 = "2.5 V" }
V1 A 0 0
V2 P 0 5
R1 P B 1k
S1 B 0 A 0 SW
.model SW SW(VT=2.5 VH=0.5 RON=1 ROFF=1G)
.end
"""
    )
    assert [round(sr.solve(c, state=s).volts["B"], 1) for s in c.states] == [5.0, 5.0, 0.0, 0.0]
    assert [" ON\n" in c.to_spice(state=s) for s in c.states] == [False, False, True, True]
    assert " OFF\n" in c.to_spice(state="middle_again", fault="V1 absent")
