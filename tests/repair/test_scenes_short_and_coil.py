"""The coil bridged on a whole card, and a short among forty capacitors walked on solved copper, not on made-up millivolts."""

import pytest
import shouldread as sr
from shouldread.circuit import Circuit
from shouldread.repair import hunt_short
from shouldread.repair.short_walk import SQUARE

POINTS, SQUARES = 5, 10  # points of the walk, squares of copper between two of them


def rail(load: str) -> Circuit:
    """A bench supply at 1.0 V, limit 1 A, on a rail of copper with eight capacitors at each of five points."""
    rows = ["* logic rail, injected", "X1 P1 0 SUPPLY vset=1 ilim=1"]
    rows += [f"RT{k} P{k} P{k + 1} {SQUARES * SQUARE!r}" for k in range(1, POINTS)]
    rows += [f"C{8 * k + n} P{k + 1} 0 100n" for k in range(POINTS) for n in range(1, 9)]
    return sr.load_circuit(
        "\n".join([*rows, load, ".model DJ D(IS=1e-12 N=1.0 RS=0.02)", ".include ../models/supply.cir"])
    )


def walked(circuit: Circuit) -> list[tuple[str, float]]:
    """What a handheld shows between the injection point and each point: tenths of a millivolt."""
    volts = sr.solve(circuit).volts
    return [(f"P{k}", round(volts["P1"] - volts[f"P{k}"], 4)) for k in range(1, POINTS + 1)]


def test_a_short_of_1_2_ohm_is_walked_to_the_point_where_it_sits() -> None:
    """Ohm's law: 1.0 V into 1.2 ohm is 0.83 A and 0.83 W; ten squares lose 0.83 A x 4.9 mohm = 4.1 mV."""
    circuit = rail("RX P3 0 1.2")
    solution = sr.solve(circuit)
    assert -solution.pin_amps["X1.P"] == pytest.approx(0.83, abs=0.01)
    walk = walked(circuit)
    assert [round(1e3 * volts, 1) for _, volts in walk] == [0.0, 4.0, 8.1, 8.1, 8.1]
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, good_ohms=340, parts=["FB1", "C17", "U5"], walk=walk)
    assert hunt.nearest == "P3" and hunt.between == ("P2", "P3")
    assert "lift FB1" in hunt.split and "1.2 Ω" in hunt.split and "> 310 Ω" in hunt.split
    assert hunt.plan[0].amps == pytest.approx(0.83, abs=0.01) and hunt.plan[0].watts == pytest.approx(0.83, abs=0.01)
    assert "black lead on the rail" in hunt.plan[0].leads


@pytest.mark.parametrize("point", [1, 2, 3, 4, 5])
def test_wherever_it_sits_the_walk_ends_there(point: int) -> None:
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=walked(rail(f"RX P{point} 0 1.2")))
    if point == 1:
        assert hunt.nearest is None and "raise the current" in hunt.finding, "at the injection point nothing rises"
    else:
        assert hunt.nearest == f"P{point}"
        assert ("walk on" in hunt.finding) == (point == POINTS)


def test_a_junction_path_stands_flat_and_stops_the_injection() -> None:
    """A silicon path at 1 A: 0.7 V all along the rail, and no part of it to be walked to."""
    circuit = rail("D1 P3 0 DJ")
    volts = sr.solve(circuit).volts
    level = volts["P3"]
    assert level == pytest.approx(0.72, abs=0.05) and volts["P1"] - level < 0.011
    told = [("P1", level), ("P2", level), ("P3", level)]
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=told, observations=["nothing warm"])
    assert hunt.junction and hunt.plan == () and hunt.nearest is None
    assert hunt_short(rail="3V3", nominal=3.3, ohms=1.2, volts=level, observations=["nothing warm"]).junction
    assert not hunt_short(rail="3V3", nominal=3.3, ohms=1.2, volts=level, observations=["C17 hot"]).junction


def test_the_coil_bridged_brings_the_whole_card_up() -> None:
    """Bridged at a 1 A limit: the feed at 12 V, the enable at 2.19 to 2.42 V, 5 V up; wrong if it stays below 1 V."""
    told = sr.confirm(sr.load_circuit("controller_card"), "L2 open")
    assert "1 A" in told.action and "bridge L2" in told.action
    assert told.if_right["12V_AUX"].holds(12.1) and told.if_wrong["12V_AUX"].high < 2.5
    right = {**told.if_right}
    assert all(band.low > told.if_wrong[at].typical for at, band in right.items() if at in ("12V_AUX", "5V"))
    across, joint, load_side, _ = told.steps
    assert across.if_wrong["L2"].high < 0.6 and across.if_right["L2"].typical > 10e3
    assert "terminal" in joint.action and "pad" in joint.action
    assert "load side" in load_side.action and load_side.if_right["12V_AUX"].low > 1e3
