"""Explanations held to the solver everywhere, and their words to ngspice's volts."""

import math

import pytest
import shouldread as sr
import sympy
from shouldread.circuit import Circuit
from shouldread.explain import explain, regions
from shouldread.reference import second_opinion
from shouldread.views.rich import html

FRAGMENTS = [e.name for e in sr.shelf() if e.sort == "fragment"]
LINEAR = [n for n in FRAGMENTS if all(p.kind in "RLCVI" for p in sr.load_circuit(n).netlist.values())]
ENABLES = [n for n in FRAGMENTS if any(p.kind in "QMD" for p in sr.load_circuit(n).netlist.values())]
CONDUCTS = 0.35  # V over a silicon junction from which it carries a microampere or so


def test_some_fragments_are_linear() -> None:
    assert {"enable_divider", "strap_divider", "bus_bias"} <= set(LINEAR)


@pytest.mark.parametrize("name", LINEAR)
def test_every_node_of_every_linear_fragment_agrees_to_a_millionth(name: str) -> None:
    circuit = sr.load_circuit(name)
    for state in circuit.states:
        volts = sr.solve(circuit, state=state).volts
        for node in circuit.nodes[1:]:
            told = explain(circuit, node, state=state)
            assert told.exact and told.formula, f"{node} @{state}"
            assert told.error <= 1e-6 * max(abs(volts[node]), 1e-3)
            assert told.mathematics and "exact" in str(told)


@pytest.mark.parametrize("name", [n for n in FRAGMENTS if n not in LINEAR])
def test_elsewhere_the_error_is_stated(name: str) -> None:
    """What a formula gives with its own numbers put in differs from the solver by what it says, and hardly at all."""
    circuit = sr.load_circuit(name)
    for state in circuit.states:
        volts = sr.solve(circuit, state=state).volts
        for node in circuit.nodes[1:]:
            if math.isnan(volts[node]):
                continue
            told = explain(circuit, node, state=state)
            assert told.value == volts[node]
            if told.formula:
                symbols = {key: sympy.Symbol(key) for key, _ in told.numbers}
                numbers = {symbols[key]: value for key, value in told.numbers}
                again = float(sympy.sympify(told.formula, locals=symbols).subs(numbers))
                assert abs(again - volts[node]) == pytest.approx(told.error, abs=1e-9 * max(1.0, abs(volts[node])))
                assert told.error <= 0.01 and ("exact, error" in str(told)) == told.exact


def biased(circuit: Circuit, part: str, volts: dict[str, float]) -> tuple[bool, bool]:
    """Whether the base-emitter and the base-collector junction are forward."""
    own = circuit.part(part)
    c, b, e = (volts[n] for n in own.nodes)
    sign = 1 if own.model is None or own.model.type == "NPN" else -1
    return sign * (b - e) > CONDUCTS, sign * (b - c) > CONDUCTS


@pytest.mark.parametrize("name", ENABLES)
def test_the_words_agree_with_ngspices_volts(name: str) -> None:
    """Regions of a bipolar transistor by its two junctions (any textbook): both forward is saturated, none cut off.

    A channel that is cut off has less than its threshold at its gate (or nothing to carry), one fully on has more.
    """
    circuit, compared = sr.load_circuit(name), 0
    for state in circuit.states:
        found = {region.part: region for region in regions(circuit, sr.solve(circuit, state=state))}
        volts = dict(second_opinion(circuit, state=state).volts)
        for part in circuit.netlist.values():
            if part.kind not in "QMD" or any(math.isnan(volts[n]) for n in part.nodes):
                continue
            compared += 1
            agrees(circuit, part.name, found[part.name].word, volts, f"{part.name} @{state}")
    assert compared >= 1, "ngspice answered in no state"


def agrees(circuit: Circuit, name: str, word: str, volts: dict[str, float], told: str) -> None:
    part = circuit.part(name)
    if part.kind == "Q":
        emitter, collector = biased(circuit, name, volts)
        if word == "saturated":
            assert emitter and collector, told
        elif word == "conducting":
            assert emitter and not collector, told
        else:
            assert not emitter or abs(volts[part.nodes[0]] - volts[part.nodes[2]]) < 1e-3, told
    elif part.kind == "M" and part.model is not None:
        d, g, s = (volts[n] for n in part.nodes[:3])
        sign = 1 if part.model.type == "NMOS" else -1
        beyond = sign * (g - s) - abs(part.model.params["VTO"])
        if word == "fully on":
            assert abs(d - s) < 0.3 and (beyond > 0 or sign * (d - s) < 0), f"{told}: or by its body diode"
        elif word == "cut off":
            assert beyond < 0 or abs(d - s) < 1e-3, told
    elif part.kind == "D" and word == "cut off":
        assert volts[part.nodes[0]] - volts[part.nodes[1]] < 0.6, told


def test_every_region_is_met_on_the_shelf() -> None:
    """So that none of the comparisons above is one of nothing."""
    met = set()
    for name in ENABLES:
        circuit = sr.load_circuit(name)
        for state in circuit.states:
            told = regions(circuit, sr.solve(circuit, state=state))
            met |= {(circuit.part(region.part).kind, region.word) for region in told}
    bipolar = {("Q", word) for word in ("cut off", "conducting", "saturated")}
    assert met >= bipolar | {("M", "cut off"), ("M", "fully on"), ("D", "cut off"), ("D", "conducting")}


def test_through_junctions_it_is_region_by_region() -> None:
    """The road of a two-feed enable by hand: Q1 saturated holds X, so Q2 is off and R6 over R7 divide (divider rule)."""
    circuit = sr.load_circuit("two_feed_enable")
    told = {node: explain(circuit, node) for node in ("B1", "X", "B2", "EN", "FEED")}
    assert told["B1"].formula == "U_Q1_be" and told["X"].formula == "U_Q1_ce"
    assert told["B2"].formula.replace(" ", "") == "R5*U_Q1_ce/(R4+R5)"
    assert told["EN"].formula.replace(" ", "") in ("R7*VMAIN/(R6+R7)", "VMAIN*R7/(R6+R7)")
    assert 0 < told["EN"].error < 1e-5, "what Q2 leaks is left out, and said"
    assert not any(one.exact for one in told.values()), "a drop of the solution holds at this point only"
    assert told["EN"].words[-1] == "EN stands at 2.3 V: R6 lifts it towards 12V_MAIN, R7 pulls it down to ground"


def test_on_a_whole_board_the_formula_stays_readable() -> None:
    """Where the surroundings are large the neighbours' volts are numbers: the divider rule at EN5, on any board."""
    circuit = sr.load_circuit("controller_card")
    told = explain(circuit, "EN5")
    assert {key for key, _ in told.numbers} == {"R6", "R7", "V_12V_MAIN", "I_X1_EN"}
    by_hand = 11.98 * 10e3 / 52.2e3
    assert told.value == pytest.approx(by_hand, rel=2e-3) and told.error < 1e-6 and not told.exact
    assert all(explain(circuit, node).formula for node in ("5V", "RESET", "QX", "12V_AUX"))


def test_what_a_reading_hangs_on_most_by_ohms_law() -> None:
    """d/dR of V R2/(R1+R2) (any textbook): 1 % of either resistor moves 12 V over 3k + 1k by 22.5 mV, 1 % of V by 30."""
    told = explain(
        sr.load_circuit("* d\nV1 IN 0 12\nR1 IN MID 3k\nR2 MID 0 1k\n*: [parts]\n*: V1 = { tolerance = '1 %' }\n"),
        "MID",
    )
    moves = {key.partition(".")[0]: volts for key, volts in told.most_sensitive}
    assert moves["V1"] == pytest.approx(0.030, rel=1e-3)
    assert moves["R1"] == pytest.approx(-0.0225, rel=1e-3) and moves["R2"] == pytest.approx(0.0225, rel=1e-3)
    assert told.most_sensitive[0][0].startswith("V1")


def test_a_notebook_shows_mathematics() -> None:
    told = explain(sr.load_circuit("enable_divider"), "EN")
    assert r"\frac{" in told.mathematics and told.mathematics.startswith(r"V_{\mathrm{EN}} = ")
    assert "$$" in html(told) and r"\frac{" in html(told)
    rough = explain(sr.load_circuit("two_feed_enable"), "EN")
    assert r"\mathrm{VMAIN}" in rough.mathematics, "a name of several letters is no product"
    assert r"\approx" in rough.mathematics, "a formula that holds at this point only says so"
