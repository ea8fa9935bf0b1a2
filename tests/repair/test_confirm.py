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
    off = sr.confirm(circuit, "Q1 base open", state=circuit.states[0])
    assert off.tells and all(step.setting != "volts" for step in off.steps)


def test_every_kind_of_fault_has_a_word_on_why() -> None:
    for name in ("npn_inverter_enable", "pmos_high_side_switch", "diode_or"):
        circuit = sr.load_circuit(name)
        parts = [circuit.part(part) for part in circuit.parts]
        for fault in circuit.faults:
            one = read_fault(fault, parts)[0]
            row = _first(_table()["victim"], circuit.part(one.parts[0]), one, default={"say": ""})
            assert row["say"], fault


def test_readings_so_far_say_what_else_it_may_be(stage: object) -> None:
    """What the readings rule out explains nothing any more; what they speak for instead is named."""
    before = "EN 0.02; 12V_AUX 12.1; FEED 0.58; AUX_S 12.1"
    alone = sr.confirm(stage, "L1 open", before)
    assert alone.otherwise == () and "leave this one alone" in str(alone)
    assert alone.if_wrong["FEED"].typical < 1, "nothing else is left: wrong means that nothing changes"
    against = sr.confirm(stage, "R7 open", before)
    assert "L1 open" in against.otherwise and "speak against R7 open" in against.so_far
    read = sr.diagnose(stage, before)
    assert str(sr.confirm(stage, "L1 open", read)) == str(alone)
    with pytest.raises(sr.KitError):
        sr.confirm(stage, "L1 open", "EN lots")


def test_a_part_off_the_board_is_read_by_itself() -> None:
    """Off the board a leak stands alone; the value meter tells what no direct volts do (common practice, no source)."""
    leak = sr.confirm(sr.load_circuit("npn_inverter_enable"), "Q1 leaky").steps[1]
    assert leak.if_wrong["Q1.c to Q1.e"].typical == math.inf and leak.if_right["Q1.c to Q1.e"].high < 1e6
    worn = sr.confirm(sr.load_circuit("input_filter"), "C1 drifted low").steps[-1]
    assert worn.setting == "value" and worn.if_right["C1"].high < worn.if_wrong["C1"].low < 10e-6
    joint = sr.confirm(sr.load_circuit("buck_feedback"), "X1.FB joint open")
    assert joint.steps[0].if_wrong["X1.FB to FB"].high < 1 < joint.steps[0].if_right["X1.FB to FB"].low
    assert joint.if_right["VOUT"].holds(5.0) and joint.if_wrong["VOUT"].low > 10, "pressed, the output falls back"


def one_of_every_sort() -> list[tuple[str, str]]:
    """(circuit, fault) of every kind of part and way to fail on the shelf, each on the smallest circuit that has it."""
    circuits = sorted(
        (sr.load_circuit(e.name) for e in sr.shelf() if e.sort == "fragment"), key=lambda c: len(c.faults)
    )
    found: dict[tuple[str, str], tuple[str, str]] = {}
    for circuit in circuits:
        parts = [circuit.part(part) for part in circuit.parts]
        for fault in circuit.faults:
            one = read_fault(fault, parts)[0]
            found.setdefault((circuit.part(one.parts[0]).kind, one.mode), (circuit.name, fault))
    return list(found.values())


EVERY_SORT = one_of_every_sort()


def test_every_sort_of_part_on_the_shelf_is_asked() -> None:
    kinds = {sr.load_circuit(name).part(fault.split()[0].split(".")[0]).kind for name, fault in EVERY_SORT}
    assert kinds == set("VRCLDQMXS") and len(EVERY_SORT) >= 49


@pytest.mark.parametrize(("name", "fault"), EVERY_SORT)
def test_right_and_wrong_read_differently_or_another_test_is_named(name: str, fault: str) -> None:
    """A step that is read has bands for both; one of them tells, or the last one says in words which other test does."""
    told = sr.confirm(sr.load_circuit(name), fault)
    for step in told.steps:
        assert set(step.if_right) == set(step.if_wrong)
        assert all(
            math.isnan(band.typical) == (band.words in ("pulsing", "nothing steady"))
            for band in step.if_right.values()
        )
    if told.tells:
        right, wrong = told.if_right, told.if_wrong
        assert any(not wrong[at].holds(band.typical) and band.words != wrong[at].words for at, band in right.items())
    else:
        assert told.action == told.steps[-1].action and not told.if_right
        assert any(word in told.action for word in ("good", "meter", "supply", "scope", "lamp"))
    assert "Why did it fail? " in str(told)


def test_a_lifted_pin_with_nothing_behind_it_reads_open() -> None:
    """Cold, the anode of a thyristor shows nothing: lifted it hangs in the air, and a meter on it says so."""
    circuit = sr.load_circuit("crowbar").with_condition("X1.A lifted")
    assert sr.expect(circuit, setting="ohms")["X1.A to VOUT"].healthy.typical == math.inf
    joint = sr.confirm(sr.load_circuit("crowbar"), "X1.A joint open").steps[0]
    assert joint.if_right["X1.A to VOUT"].typical == math.inf and joint.if_wrong["X1.A to VOUT"].high < 1
