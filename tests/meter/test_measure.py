"""What the display shows on a board: the meter's own load, source and ranges."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shouldread.circuit import Circuit, load_circuit
from shouldread.errors import KitError, ReadingError, RequestError, UnknownNameError
from shouldread.meter import measure, meter, read_readings

MODEL = ".model QN NPN(IS=7e-15 BF=180 VAF=80 BR=4 RC=0.8 RB=10 IKF=0.08 NE=1.5 ISE=1e-14)\n"
INVERTER = f"* base, 47 k to ground\nV3 v3 0 3.3\nVIN in 0 0\nR1 in b 10k\nR2 b 0 47k\nQ1 en b 0 QN\nR3 v3 en 10k\nRL en 0 1Meg\n{MODEL}"
DIVIDER = "* two of 1 M\nV1 A 0 12\nR1 A B 1Meg\nR2 B 0 1Meg\n"
CHAIN = "* seen through a meter\nV1 IN 0 12\nR1 IN A 1Meg\nR2 A B 4Meg\nR3 B 0 1Meg\n"
HOT_OHMS = 'ohms = [{ tops = ["60k"], accuracy = "1 % + 2", open_volts = "1.2 V", short_amps = "100 uA" }]\n'


def read(text: str, place: str, setting: str = "volts", **how: object) -> float:
    return measure(load_circuit(text), place, setting=setting, **how).value  # type: ignore[arg-type]


def test_the_meter_loads_what_it_reads() -> None:
    """Ohm's law by hand: 12 x 10 / 21, and the chain as a ladder with 10 M beside each pair in turn."""
    assert read(DIVIDER, "B") == pytest.approx(5.714, abs=1e-3)
    assert read(CHAIN, "A to B", meter="bench") == pytest.approx(7.059, abs=1e-3)
    assert read(CHAIN, "A", meter="bench") == pytest.approx(9.231, abs=1e-3)
    assert read(CHAIN, "B", meter="bench") == pytest.approx(1.846, abs=1e-3)
    assert read(DIVIDER, "B", meter={"input_ohms": "1 Mohm"}) == pytest.approx(4.0, abs=2e-3)


def test_ohms_of_a_base_depend_on_the_range() -> None:
    """A junction conducts above some 0.5 V: 47.0 k on a 0.45 V range, 12.8 k at 1.2 V behind 12 k.

    Figures of the second: ngspice 39, the meter drawn as a source; the textbook relation is Ebers-Moll.
    """
    assert read(INVERTER, "b", "ohms") == pytest.approx(47.0e3, rel=0.01)
    assert read(INVERTER, "b", "ohms", meter=HOT_OHMS) == pytest.approx(12.8e3, rel=0.03)
    assert read(INVERTER, "b", "diode") == pytest.approx(0.706, abs=0.02)
    assert read(INVERTER, "Q1.b to Q1.e", "diode") == read(INVERTER, "b", "diode")


@pytest.mark.parametrize(
    "place, low_volt, hot, red_on_node, red_on_ground",
    [
        ("in", "57.00 kΩ", 31700, 2.4601, None),
        ("b", "47.00 kΩ", 12800, 0.7056, None),
        ("en", "1.000 MΩ", None, None, 2.4205),
    ],
)
def test_cold_figures_of_the_inverter(
    place: str, low_volt: str, hot: float | None, red_on_node: float | None, red_on_ground: float | None
) -> None:
    """Computed with ngspice 39 from the same netlist: sources out, the meter as 1.2 V/12 k, 3 V/3 k; None is OL."""
    c = load_circuit(INVERTER)
    assert measure(c, place, setting="ohms").text == low_volt
    shown = [
        measure(c, place, setting="ohms", meter=HOT_OHMS),
        measure(c, place, setting="diode"),
        measure(c, "GND", place, setting="diode"),
    ]
    for got, want in zip(shown, (hot, red_on_node, red_on_ground), strict=True):
        assert got.over if want is None else got.value == pytest.approx(want, rel=3e-3, abs=1e-3)


def test_a_cheap_meter_turns_junctions_on_and_is_told_apart() -> None:
    assert read(INVERTER, "b", "ohms", meter="cheap") < 30e3
    assert read(INVERTER, "R2", "ohms", meter="handheld") == pytest.approx(47e3, rel=0.01)


def test_a_shorted_and_an_open_board() -> None:
    c = load_circuit("* rail\nV1 A 0 5\nR1 A 0 1k\nC1 A 0 100n\n")
    assert measure(c, "A", setting="ohms", fault="C1 short").text == "0.1 Ω"  # leads and 10 milliohm
    assert measure(c, "A", setting="ohms", fault="R1 open").over
    assert measure(c, "A", setting="ohms", condition="R1 lifted").over
    assert measure(c, "R1", setting="ohms", condition="R1 lifted").over is False  # across both its pins: itself
    assert measure(c, "V1", setting="amps").text == "5.000 mA"
    assert measure(c, "V1", setting="amps", fault="R1 open").text == "0.000 mA"


def test_large_capacitors_rise() -> None:
    """Constant current into a capacitor: 470 uF at 10 uA needs 47 s per volt (Q = C V)."""
    c = load_circuit("* bank\nV1 A 0 5\nR1 A B 10k\nC1 B 0 470u\nR2 B 0 10k\nC2 A 0 100n\n")
    rising = measure(c, "B", setting="ohms")
    assert rising.rising and 1e3 < rising.value < 10e3 and rising.text.endswith("rising")
    assert measure(c, "R1", setting="ohms").text == "10.00 kΩ"
    small = load_circuit("* small\nV1 A 0 5\nC1 A 0 100n\nR1 A 0 1Meg\n")
    assert measure(small, "A", setting="ohms").text == "1.000 MΩ"
    bank = load_circuit("* nothing but a capacitor\nV1 A 0 5\nC1 A 0 100u\n")
    assert measure(bank, "A", setting="ohms").rising
    assert not measure(load_circuit("* tiny\nV1 A 0 5\nC1 A 0 1n\n"), "A", setting="ohms").rising


# ohms, farads, and by hand the time constant C (R parallel Rs) with Rs 45 k, 450 k, 450 k, 2.25 M of the range it stops on
SETTLING = [(10e3, 470e-6, 3.846), (100e3, 10e-6, 0.818), (100e3, 4.7e-6, 0.385), (1e6, 22e-6, 15.23)]


@pytest.mark.parametrize("ohms, farads, seconds", SETTLING)
def test_when_ohms_settle(ohms: float, farads: float, seconds: float) -> None:
    """Settled when 1 % is left after 3 s, which is 4.605 time constants."""
    c = load_circuit(f"* rc\nV1 A 0 5\nR1 A 0 {ohms}\nC1 A 0 {farads}\n")
    assert measure(c, "A", setting="ohms").rising == (seconds > 3 / 4.605)


def test_what_never_rests_shows_pulsing_and_reads_back() -> None:
    text = "* a supply in limit feeds a regulator with lockout\nX1 VIN 0 SUPPLY vset=5 ilim=0.2\n"
    text += "X2 VIN VIN FB OUT 0 REGULATOR vref=0.8 ven=1.2 uvlo=2.5\nR1 OUT FB 31.25k\nR2 FB 0 10k\nRL OUT 0 5\n"
    c = load_circuit(text)
    shown = measure(c, "OUT")
    assert shown.text == "pulsing" and shown.words
    (seen,) = read_readings(f"OUT volts {shown} @run", circuit=c)
    assert str(seen) == "OUT pulsing @run"


@pytest.mark.parametrize("setting, place", [("volts", "C"), ("ohms", "C"), ("diode", "C"), ("amps", "V1")])
def test_a_board_that_cannot_be_is_told_and_not_raised(setting: str, place: str) -> None:
    """Two coils without resistance side by side: how they share the current is not determined."""
    c = load_circuit("* coils\nV1 A 0 5\nR1 A B 1k\nL1 B C 1u\nL2 B C 1u\nR2 C 0 1k\n")
    shown = measure(c, place, setting=setting)
    assert shown.text == "unknown" and math.isnan(shown.value) and "loop" in shown.words


@pytest.mark.parametrize(
    "place, how, error",
    [
        ("NOSUCH", {}, UnknownNameError),
        ("b", {"setting": "ohms", "state": "run"}, RequestError),
        ("b", {"setting": "volts", "state": "cold"}, RequestError),
        ("b", {"setting": "amps"}, RequestError),
        ("R1", {"setting": "amps"}, RequestError),
        ("Q1", {}, ReadingError),
        ("R1 to b", {}, ReadingError),
        ("b", {"setting": "farads"}, UnknownNameError),
        ("b", {"state": "nosuch"}, UnknownNameError),
        ("b", {"fault": "R1 melted"}, UnknownNameError),
        ("b", {"meter": "nosuch"}, UnknownNameError),
    ],
)
def test_requests_that_make_no_sense(place: str, how: dict[str, str], error: type[KitError]) -> None:
    with pytest.raises(error):
        measure(load_circuit(INVERTER), place, **how)  # type: ignore[arg-type]


OHMS = st.floats(1.0, 5e6).map(lambda r: float(f"{r:.3g}"))


def ladder(values: list[float]) -> Circuit:
    rows = [f"R{i} N{i} {'0' if i == len(values) - 1 else f'N{i + 1}'} {v}" for i, v in enumerate(values)]
    return load_circuit("* ladder\nV1 N0 0 9\n" + "\n".join(rows) + "\n")


@given(st.lists(OHMS, min_size=2, max_size=5), st.sampled_from(["handheld", "cheap", "bench"]))
@settings(max_examples=30, deadline=None)
def test_a_resistive_board_reads_the_same_both_ways(values: list[float], name: str) -> None:
    """Reciprocity: ohms between two points do not depend on which lead is where; a series chain adds up."""
    c = ladder(values)
    there, back = measure(c, "N0", setting="ohms", meter=name), measure(c, "GND", "N0", setting="ohms", meter=name)
    assert there.text == back.text
    if not there.over:
        allowed = 0.51 * there.range.resolution + there.range.lead_ohms + 1e-3 * there.value
        assert there.value == pytest.approx(sum(values), abs=allowed)


@given(st.lists(OHMS, min_size=2, max_size=5))
@settings(max_examples=30, deadline=None)
def test_volts_lie_between_ground_and_the_feed_and_read_back(values: list[float]) -> None:
    c = ladder(values)
    for i in range(len(values)):
        shown = measure(c, f"N{i}")
        assert -1e-9 <= shown.value <= 9 + shown.range.resolution
        (reading,) = read_readings(f"N{i} volts {shown} @run", circuit=c)
        assert reading.value == pytest.approx(shown.value, abs=1e-9)


def test_profiles_are_taken_however_they_are_given() -> None:
    c = load_circuit(DIVIDER)
    assert measure(c, "B", meter=meter("bench")) == measure(c, "B", meter="bench")


def test_with_nothing_fed_what_went_wrong_inside_an_ic_is_not_there() -> None:
    """With nothing fed an IC is what its pins show: ohms at FB are those of the healthy board, a short's are not."""
    c = load_circuit("buck_feedback")
    healthy = measure(c, "FB", setting="ohms").value
    for fault in ("X1 no output", "X1 out of tolerance", "X1 stuck on"):
        assert measure(c, "FB", setting="ohms", fault=fault).value == healthy
    assert measure(c, "FB", setting="ohms", fault="R2 short").value < 1
