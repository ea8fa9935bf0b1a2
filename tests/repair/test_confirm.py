"""Confirm before replacing: what to do, and what it must read if right and if wrong."""

import math

import pytest
import shouldread as sr
from shouldread.faults import read_fault
from shouldread.repair.confirm import _first, _table


@pytest.fixture(scope="module")
def stage() -> object:
    return sr.load_circuit("two_feed_enable")


def test_an_open_coil_is_bridged_after_the_load_side_was_read(stage: object) -> None:
    """Common practice, no source: good coil < 0.5 ohm or nearly, open tens of kilohm or OL; bridged, EN is back."""
    told = sr.confirm(stage, "L1 open")
    across, _, load_side, bridge = told.steps
    assert across.if_wrong["L1"].typical < 0.5 and across.if_right["L1"].typical > 10e3
    assert "load side" in load_side.action and load_side.if_right["FEED"].typical > 1e3
    assert "bridge L1" in told.action and told.if_right == bridge.if_right
    assert told.if_right["FEED"].low > 11 and told.if_wrong["FEED"].typical < 1
    assert 2.0 < told.if_right["EN"].low < 2.3 < told.if_right["EN"].high < 2.6
    assert told.if_wrong["EN"].typical < 0.05
    assert "victim" in told.why_failed and "limit" in told.caution
    assert "RS1 open" in told.otherwise


def test_a_resistor_is_lifted_and_read_by_itself(stage: object) -> None:
    told = sr.confirm(stage, "R1 open")
    assert told.if_right["R1"].typical == math.inf
    assert told.if_wrong["R1"].low < 47e3 < told.if_wrong["R1"].high


def test_the_outcome_of_a_bridge_goes_on_in_the_diagnosis(stage: object) -> None:
    before = "EN 0.02; 12V_AUX 12.1; FEED 0.58; AUX_S 12.1"
    after = sr.diagnose(stage, before + "; FEED 12.1 with L1 bridged; EN 2.28 with L1 bridged")
    assert after.groups[0].faults == ("L1 open",) and after.groups[0].share > 0.9
    assert not after.doubtful


def test_a_missing_feed_is_fed_from_the_bench(stage: object) -> None:
    told = sr.confirm(stage, "VAUX absent")
    assert told.if_right["FEED"].low > 10 and "not a fault of this board" in told.why_failed


@pytest.mark.parametrize("name", ["C1 short", "Q1 collector open", "Q2 collector-emitter short", "R7 short"])
def test_every_sort_of_fault_has_steps(stage: object, name: str) -> None:
    told = sr.confirm(stage, name)
    assert told.steps and told.why_failed and str(told).startswith(f"Confirm: {name}")


def test_an_unknown_fault_tells_the_nearest(stage: object) -> None:
    with pytest.raises(sr.KitError) as told:
        sr.confirm(stage, "L1 opne")
    assert told.value.nearest == "L1 open"


def test_a_fault_is_confirmed_in_a_state_where_it_shows() -> None:
    """An open base of a transistor that is off in the first state shows nothing there; in the other it does."""
    circuit = sr.load_circuit("npn_inverter_enable")
    told = sr.confirm(circuit, "Q1 base open")
    assert told.if_right and f"(in the state {circuit.states[1]})" in told.action
    assert not sr.confirm(circuit, "Q1 base open", state=circuit.states[0]).if_right


def test_every_kind_of_fault_has_a_word_on_why() -> None:
    for name in ("npn_inverter_enable", "pmos_high_side_switch", "diode_or"):
        circuit = sr.load_circuit(name)
        parts = [circuit.part(part) for part in circuit.parts]
        for fault in circuit.faults:
            one = read_fault(fault, parts)[0]
            row = _first(_table()["victim"], circuit.part(one.parts[0]), one, default={"say": ""})
            assert row["say"], fault
