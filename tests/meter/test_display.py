"""Imitating a display: digits, ranges, OL, and what an ohms range makes of the volts between its tips."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shouldread.errors import RequestError
from shouldread.meter import (
    display,
    limit,
    meter,
    meter_names,
    noise,
    pick_range,
    shown,
    shown_of,
    thevenin,
    tip_volts,
)
from shouldread.meter.setting import SETTINGS
from shouldread.meter.value import read_typed, settled


@pytest.mark.parametrize(
    "name, setting, value, text",
    [
        ("handheld", "volts", 12 * 10 / 21, "5.714 V"),
        ("handheld", "volts", 6.0, "6.00 V"),
        ("handheld", "volts", 5.9994, "5.999 V"),
        ("handheld", "volts", 5.9996, "6.00 V"),
        ("handheld", "volts", -0.01234, "-12.3 mV"),
        ("handheld", "volts", 2000.0, "OL"),
        ("handheld", "volts", -2000.0, "-OL"),
        ("cheap", "volts", 1.9994, "1.999 V"),
        ("cheap", "volts", 12.345, "12.35 V"),
        ("bench", "volts", 5.7142857, "5.71429 V"),
        ("handheld", "ohms", 47e3, "47.00 kΩ"),
        ("handheld", "ohms", 0.83, "0.8 Ω"),
        ("handheld", "ohms", 61e6, "OL"),
        ("handheld", "ohms", math.inf, "OL"),
        ("cheap", "ohms", 1.5e6, "1.500 MΩ"),
        ("handheld", "diode", 0.7056, "0.706 V"),
        ("handheld", "diode", 2.6, "OL"),
        ("handheld", "amps", 0.02, "20.00 mA"),
        ("handheld", "amps", 1.5, "1.50 A"),
    ],
)
def test_digits_as_the_meter_shows_them(name: str, setting: str, value: float, text: str) -> None:
    """Display rules of 2000, 6000 and 6½-digit meters: common practice, no source."""
    assert display(meter(name), setting, value) == text


VALUES = st.floats(1e-4, 5e7).flatmap(lambda v: st.sampled_from([v, -v]))


@given(VALUES, st.sampled_from(meter_names()), st.sampled_from(sorted(SETTINGS)))
def test_what_is_shown_is_within_half_a_digit_and_reads_back(value: float, name: str, setting: str) -> None:
    value = abs(value) if setting == "ohms" else value
    seen = shown(meter(name), setting, value)
    read = settled(read_typed(seen.text), setting, meter(name))
    if seen.over:
        assert abs(value) >= meter(name).top(setting) * (1 - 1e-3)
        assert (read.form == "over" and read.low <= value <= read.high) or abs(value) < meter(name).top(setting)
    else:
        assert abs(seen.value - value) <= 0.5001 * seen.range.resolution
        assert read.value == pytest.approx(seen.value, abs=1e-9 * seen.range.resolution)
        assert (read.low - 1e-12 <= value * (1 + 1e-12) and value * (1 - 1e-12) <= read.high + 1e-12) or value < 0


def test_limits_are_percent_and_counts() -> None:
    """Worked by hand: 12 V on a 60 V range, 0.5 % + 2 counts of 10 mV, is 80 mV."""
    assert limit(meter(), "volts", 12.0) == pytest.approx(0.08)
    assert limit(meter("cheap"), "volts", 1.0) == pytest.approx(0.01)
    assert noise(meter(), "volts", 12.0) == (pytest.approx(0.0025), pytest.approx(0.01))
    assert limit(meter(), "ohms", 47e3) == pytest.approx(490)
    assert math.isfinite(limit(meter(), "ohms", math.inf))


def test_autoranging_stays_where_the_next_lower_range_would_not_show() -> None:
    ranges = meter().ohms
    assert ranges[pick_range(ranges, [math.inf, math.inf, 4.2e4, 4.3e4, 4.4e4, 4.5e4])].top == 60e3
    assert ranges[pick_range(ranges, [100.0] * 6)].top == 600
    assert ranges[pick_range(ranges, [math.inf] * 6)].top == 60e6
    assert ranges[pick_range(ranges, [50.0, 7e3, 3e3, 4e3, 4e3, 4e3])].top == 60e3  # 6k says OL when it is there


@given(st.floats(0.2, 1e9), st.sampled_from(meter_names()), st.integers(0, 4))
def test_a_plain_resistor_reads_itself_plus_leads(ohms: float, name: str, at: int) -> None:
    """Ohm's law: the source sends Voc / (Rs + leads + R); volts over amps at the jacks is R plus leads."""
    within = meter(name).ohms[at]
    source = thevenin(meter(name), "ohms", within)
    tips = source.volts * ohms / (ohms + source.ohms)
    read = shown_of("ohms", within, tips)
    assert read == math.inf or read == pytest.approx(ohms + within.lead_ohms, rel=1e-3)
    if ohms < 1e3 * within.top:
        assert read == pytest.approx(ohms + within.lead_ohms, rel=1e-6)
        assert tip_volts(within, read) == pytest.approx(tips, rel=1e-6)


def test_open_leads_and_the_sources_of_settings() -> None:
    within = meter().ohms[0]
    assert shown_of("ohms", within, 1.2) == math.inf and tip_volts(within, math.inf) == 1.2
    assert shown_of("ohms", within, 0.0) == pytest.approx(within.lead_ohms)
    assert thevenin(meter(), "volts").ohms == 10e6
    assert thevenin(meter(), "diode").volts == 3.0
    with pytest.raises(RequestError):
        thevenin(meter(), "amps")
