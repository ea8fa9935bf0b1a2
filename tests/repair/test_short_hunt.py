"""Hunting a short on a rail: the numbers of a bench, against copper's handbook figure and the trade's rules."""

import pytest
from shouldread.errors import ReadingError, RequestError
from shouldread.repair import hunt_short
from shouldread.repair.short_walk import SQUARE

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


def test_a_hard_short_walked_against_ground_falls_towards_it() -> None:
    """3 A into 30 mOhm: 90 mV at the injection point; by Ohm's law the lowest point is the nearest one."""
    walk = [("P1", "90 mV"), ("P2", "84 mV"), ("P3", "60 mV"), ("P4", "61 mV")]
    hunt = hunt_short(rail="1V0", nominal=1.0, ohms=0.03, limit=3, walk=walk)
    assert hunt.nearest == "P3" and "black on ground" in hunt.finding
    back = hunt_short(rail="1V0", nominal=1.0, ohms=0.03, limit=3, walk=[*walk, ("P5", "84 mV"), ("P6", "60 mV")])
    assert back.nearest is None and "rises at P5" in back.finding


def test_a_milliohm_meter_walks_too() -> None:
    """Readings of a repair as published in a forum thread: 84, 36, 11 mOhm; the lowest is nearest (no current flows)."""
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=0.03, walk="C1 84 mΩ; C2 36 mΩ; C3 11 mΩ; C4 12 mΩ")
    assert hunt.nearest == "C3" and "stays at 11 mΩ" in hunt.finding
    with pytest.raises(ReadingError, match="not in both"):
        hunt_short(rail="3V3", nominal=3.3, ohms=0.03, walk="C1 84 mΩ; C2 36 mV")


def test_swapped_leads_and_a_walk_that_starts_beyond_the_short() -> None:
    swapped = [("P1", "0"), ("P2", "-4.1 mV"), ("P3", "-7.0 mV"), ("P4", "-7.0 mV")]
    hunt = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=swapped)
    assert hunt.nearest == "P3" and "other way round" in hunt.finding
    beyond = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=[("P1", "7m"), ("P2", "7m"), ("P3", "7m")])
    assert beyond.nearest == "P1" and beyond.between[0] == "the injection point" and "or before it" in beyond.finding


def test_noise_of_two_counts_is_no_turn() -> None:
    walk = [("P1", "0"), ("P2", "4.1m"), ("P3", "4.0m"), ("P4", "7.0m"), ("P5", "6.9m")]
    assert hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=walk).nearest == "P4"


def test_squares_between_two_points_are_told() -> None:
    """2.9 mV at 0.833 A over 0.49 milliohm a square are 7 squares (Ohm's law)."""
    assert "P2 to P3 are about 7 squares" in hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=WALK).finding


def test_a_rail_whose_nominal_nobody_knows_gets_half_a_volt() -> None:
    for nominal in (None, "?"):
        hunt = hunt_short(rail="X", nominal=nominal, ohms=1.2)
        assert max(step.volts for step in hunt.plan) == 0.5 and "nominal is not known" in str(hunt)


def test_what_is_no_short_is_said() -> None:
    good = hunt_short(rail="3V3", nominal=3.3, ohms=330, good_ohms=340)
    assert good.plan == () and "no short here" in good.finding
    leak = hunt_short(rail="3V3", nominal=3.3, ohms="20k")
    assert leak.plan == () and "injecting does not find" in leak.finding
    with pytest.raises(RequestError, match="no short"):
        hunt_short(rail="3V3", nominal=3.3, ohms="OL")


def test_more_current_never_turns_more_than_3_w_to_heat() -> None:
    """Own judgement of what a board stands for a minute; by Joule's law 1.9 V into 1.2 ohm."""
    flat = [("P1", "0.1 mV"), ("P2", "0.2 mV")]
    for ohms in (0.4, 1.2, 3.0, 20.0):
        for step in hunt_short(rail="12V", nominal=12, ohms=ohms, walk=flat).plan:
            assert step.watts <= 3.0 * (1 + 1e-9)
    first, second = hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=flat).plan
    assert second.amps > 1.5 * first.amps and "too small to read" in second.why
    with pytest.raises(RequestError, match="traces are fuses"):
        hunt_short(rail="3V3", nominal=3.3, ohms=1.2, limit=100)


def test_volts_that_the_ohms_alone_explain_are_no_junction() -> None:
    """0.7 ohm at a limit of 1 A stand at 0.7 V by Ohm's law: copper and a capacitor, no silicon needed."""
    assert not hunt_short(rail="3V3", nominal=3.3, ohms=0.7, volts=0.7, observations="nothing warm").junction
    assert hunt_short(rail="3V3", nominal=3.3, ohms=0.3, volts=0.7, observations="nothing warm").junction


ODD = [
    [("P1",)],
    [("P1", "0", 3)],
    [("P1", "OL")],
    [("P1", None)],
    "P1 0 P2 4",
    [("", "1 mV")],
    [("P1", "0"), ("P2", "2 A")],
    [("P1", "0"), ("P2", "0.9")],
]


@pytest.mark.parametrize("walk", ODD)
def test_odd_walks_are_refused_with_what_to_type(walk: object) -> None:
    with pytest.raises(ReadingError, match="mV"):
        hunt_short(rail="3V3", nominal=3.3, ohms=1.2, walk=walk)  # type: ignore[arg-type]


def test_parts_may_be_one_text_or_none() -> None:
    assert "lift FB1" in hunt_short(rail="3V3", nominal=3.3, ohms=1.2, parts="FB1, C1 C2").split
    assert hunt_short(rail="3V3", nominal=3.3, ohms=1.2, parts=None).suspects == ()
