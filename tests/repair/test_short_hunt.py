"""Hunting a short on a rail: the numbers of a bench, against copper's handbook figure and the trade's rules."""

import pytest
from shouldread.errors import ReadingError, RequestError
from shouldread.repair import hunt_short
from shouldread.repair.short_hunt import SQUARE

PARTS = ["FB1", *(f"C{i}" for i in range(1, 41)), "U5"]
WALK = [("P1", "0 mV"), ("P2", "4.1 mV"), ("P3", "7.0 mV"), ("P4", "7.0 mV"), ("P5", "7.0 mV")]


def test_a_square_of_copper() -> None:
    """IEC 60028: the standard resistivity of annealed copper is 1.7241e-8 ohm metre at 20 degC; 35 um foil."""
    assert pytest.approx(1.7241e-8 / 35e-6, rel=0.01) == SQUARE


def test_the_first_injection_into_1_2_ohm() -> None:
    """Common practice, no source: 1.0 V, limit 1 A; by Ohm's law 0.83 A and 0.83 W, 0.4 mV a square."""
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms="1.2", good_ohms="340", parts=PARTS)
    first = hunt.plan[0]
    assert (first.volts, first.limit) == (1.0, 1.0)
    assert first.amps == pytest.approx(1 / 1.2) and first.watts == pytest.approx(1 / 1.2)
    assert "black lead on the rail at the injection point" in first.leads
    assert hunt.expected[0][1] == pytest.approx(0.41e-3, rel=0.02)
    assert hunt.nearest is None and not hunt.junction
    assert "lift FB1" in hunt.split and "1.2 Ω" in hunt.split


def test_a_hard_short_is_walked_to_ground() -> None:
    """30 mOhm at 3 A: the rail is at 90 mV, small enough to walk against ground."""
    first = hunt_short(rail="1V0", nominal=1.0, ohms=0.03, limit=3).plan[0]
    assert first.rail_volts == pytest.approx(0.09) and "black on ground" in first.leads


def test_the_walk_names_the_point_where_the_current_leaves() -> None:
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, parts=PARTS, walk=WALK)
    assert hunt.nearest == "P3"
    assert "P3" in hunt.finding


def test_a_walk_that_still_rises_at_its_end_goes_on() -> None:
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=WALK[:3])
    assert hunt.nearest == "P3" and "walk on" in hunt.finding and hunt.between == ("P2", "P3")


def test_a_walk_within_the_meters_counts_names_nobody() -> None:
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=[("P1", "0.1 mV"), ("P2", "0.3 mV")])
    assert hunt.nearest is None and "raise the current" in hunt.finding


def test_a_hot_capacitor_comes_first() -> None:
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, parts=PARTS, walk=WALK, observations=["C17 hot"])
    assert hunt.nearest == "C17" == hunt.suspects[0]


@pytest.mark.parametrize(
    "told",
    [
        {"volts": "0.7 V", "observations": ["nothing warm"]},
        {"observations": ["flat 0.7 V at the limit", "nothing warm"]},
        {"walk": [("P1", "0.70"), ("P2", "0.70"), ("P3", "0.70")], "observations": ["nothing warm"]},
    ],
)
def test_flat_junction_volts_with_nothing_warm_stop_the_injection(told: dict[str, object]) -> None:
    """Common practice, no source: 0.5 to 0.9 V flat at the limit is silicon, not a capacitor."""
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, **told)
    assert hunt.junction and hunt.plan == () and "stop injecting" in str(hunt)


def test_a_20_ohm_leak_at_1_v_warms_nothing() -> None:
    """50 mW by Ohm's law; the second step of the plan goes as far as the nominal allows, never above it."""
    first, second = hunt_short(rail="3V3", nominal=3.3, ohms=20).plan
    assert first.watts == pytest.approx(0.05)
    assert first.volts < second.volts < 3.3 and second.watts > 0.15


def test_volts_never_pass_the_rails_own() -> None:
    for nominal in (0.6, 0.9, 1.8, 5.0, 12.0):
        for ohms in (0.0, 0.01, 0.5, 2.0, 50.0):
            assert all(s.volts < nominal for s in hunt_short(rail="X", nominal=nominal, ohms=ohms).plan)


@pytest.mark.parametrize("value", ["4.1", 4.1, "-1 V"])
def test_volts_where_millivolts_were_meant(value: object) -> None:
    with pytest.raises(ReadingError, match="write millivolts"):
        hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=[("P1", "0"), ("P2", value)])


def test_nonsense_is_refused() -> None:
    with pytest.raises(RequestError):
        hunt_short(rail="3V3", nominal=0, ohms=1.2)


def test_nothing_warm_is_no_part() -> None:
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, parts=PARTS, walk=WALK, observations="nothing warm; P2 warm")
    assert hunt.nearest == "P2" and "nothing" not in hunt.finding
    assert hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=WALK, observations=["nothing warm"]).nearest == "P3"


def test_a_walk_that_falls_names_nobody_and_says_why() -> None:
    """Millivolts against the injection point only rise towards the short (Ohm's law along one line)."""
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=[("P1", "12.1m"), ("P2", "9.8m"), ("P3", "6.1m")])
    assert hunt.nearest is None and "falls at P2" in hunt.finding
