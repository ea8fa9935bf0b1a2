"""Truth tables: the solver's and ngspice's answer, row by row, and the tables that every textbook prints."""

import math

import pytest
import shouldread as sr
from shouldread.explain import regions
from shouldread.practice import truth_table
from shouldread.practice.hiding import circuits_on
from shouldread.reference import second_opinion
from shouldread.solve import Solution

STAGES = [c.name for c in circuits_on("enable")] + ["two_supply_and", "diode_or", "power_good_wired_and"]


@pytest.mark.parametrize("name", dict.fromkeys(STAGES))
def test_every_row_is_what_both_engines_say(name: str) -> None:
    """Volts, and what each transistor does, from ngspice's volts and currents as from the kit's own."""
    table = truth_table(sr.load_circuit(name), every=True)
    for row in table.rows:
        kit = sr.solve(table.circuit, state=row.state)
        told = second_opinion(table.circuit, state=row.state)
        assert told.agrees, (row.state, told.outcome, told.difference)
        for level in row.outputs:
            assert level.volts == kit.volts[level.node]
            assert abs(told.volts[level.node] - level.volts) <= 1e-6 + 1e-6 * abs(level.volts)
        spice = Solution(told.volts, told.amps, told.pin_amps, told.outcome)
        assert [r.word for r in regions(table.circuit, spice)] == [r.word for r in row.regions]


def outputs(name: str, *inputs: str) -> dict[tuple[bool, ...], str]:
    """The table with each input as fed (above a volt) or not."""
    rows = truth_table(sr.load_circuit(name), every=True).rows
    return {tuple(row.fed[i] not in ("missing", "0.0 V") for i in inputs): row.outputs[0].word for row in rows}


@pytest.mark.parametrize("name, inputs", [("two_supply_and", ("V12", "V3")), ("two_feed_enable", ("VMAIN", "VAUX"))])
def test_an_enable_of_two_feeds_is_the_and_of_both(name: str, inputs: tuple[str, str]) -> None:
    """Truth table of AND (IEC 60617-12, 12-27-02; from memory)."""
    assert outputs(name, *inputs) == {(a, b): "high" if a and b else "low" for a in (0, 1) for b in (0, 1)}


def test_one_transistor_is_the_inverter() -> None:
    """Truth table of NOT (IEC 60617-12, 12-27-11; from memory)."""
    assert outputs("npn_inverter_enable", "VIN") == {(False,): "high", (True,): "low"}


def test_two_diodes_are_the_or() -> None:
    """Truth table of OR (IEC 60617-12, 12-27-01; from memory); with neither feed nothing holds the output up."""
    table = outputs("diode_or", "VA", "VB")
    assert {k: v for k, v in table.items() if any(k)} == {k: "high" for k in ((1, 1), (0, 1), (1, 0))}
    assert table[(False, False)] != "high"


def test_a_driven_base_without_a_collector_feed_is_no_cut_off_transistor() -> None:
    """Both junctions forward: saturated by definition (Sedra and Smith, Microelectronic Circuits, table 6.1; from memory)."""
    row = truth_table(sr.load_circuit("two_feed_enable")).row("main missing")
    q1 = next(r for r in row.regions if r.part == "Q1")
    assert q1.word == "saturated" and "nothing feeds X" in q1.why
    assert row.fed == {"VMAIN": "missing", "VAUX": "12.0 V"}


def test_a_field_effect_transistor_with_no_volts_across_it_is_fully_on() -> None:
    row = truth_table(sr.load_circuit("pmos_high_side_switch")).row("on")
    words = {r.part: r.word for r in row.regions if sr.load_circuit("pmos_high_side_switch").part(r.part).kind == "M"}
    assert words and set(words.values()) == {"fully on"}


def test_a_table_is_a_frame_and_prints() -> None:
    table = truth_table(sr.load_circuit("two_supply_and"))
    assert list(table.frame().columns) == ["state", "V12", "V3", "EN", "Q1", "Q2"]
    assert "no 12V  0.0 V   3.3 V  low (18.2 mV)  cut off    saturated" in str(table)
    assert not math.isnan(table.row().outputs[0].volts)
