"""Numbers as people and netlists write them."""

import math
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shouldread.errors import KitError, QuantityError
from shouldread.quantities import read_number, read_spread, say, say_spread, si_number, spice_number
from shouldread.quantities.spread import Spread


@pytest.mark.parametrize(
    "text, value, unit",
    [
        ("4k7", 4700.0, ""),
        ("4K7", 4700.0, ""),
        ("4R7", 4.7, "Ω"),
        ("3V3", 3.3, "V"),
        ("0A5", 0.5, "A"),
        (".02", 0.02, ""),
        ("12,1 V", 12.1, "V"),
        ("1,200", 1.2, ""),
        ("600mV", 0.6, "V"),
        ("600 mV", 0.6, "V"),
        ("5.5e-05", 5.5e-5, ""),
        ("-1000 V", -1000.0, "V"),
        ("−0.3", -0.3, ""),
        ("47 kohm", 47e3, "Ω"),
        ("47 k\N{OHM SIGN}", 47e3, "Ω"),
        ("10 Mohm", 10e6, "Ω"),
        ("10 mohm", 0.01, "Ω"),
        ("2M", 2e6, ""),
        ("2m", 2e-3, ""),
        ("2Meg", 2e6, ""),
        ("100 nF", 1e-7, "F"),
        ("100 \N{MICRO SIGN}F", 1e-4, "F"),
        ("4u7F", 4.7e-6, "F"),
        ("12 volts", 12.0, "V"),
        ("5 %", 5.0, "%"),
    ],
)
def test_si_keeps_case_and_takes_letters_for_the_point(text: str, value: float, unit: str) -> None:
    """SI Brochure (9th edition) prefixes; letter in place of the point as in IEC 60062."""
    assert si_number(text) == (value, unit)


@pytest.mark.parametrize(
    "text, value",
    [
        ("1M", 1e-3),
        ("1m", 1e-3),
        ("1Meg", 1e6),
        ("1MEGohm", 1e6),
        ("1mil", 25.4e-6),
        ("1kOhm", 1e3),
        ("100nF", 1e-7),
        ("5V", 5.0),
        ("1e3", 1e3),
        ("1.5e-3k", 1.5),
        ("10F", 1e-14),
        ("1T", 1e12),
        ("1000", 1000.0),
        ("1000.0", 1000.0),
        ("1e3Hz", 1000.0),
    ],
)
def test_netlist_numbers_follow_spice(text: str, value: float) -> None:
    """ngspice manual, "Syntax of numbers": 1000, 1000.0, 1000Hz, 1e3, 1.0e3, 1kHz and 1k are one value."""
    assert spice_number(text) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize("text", ["4k7", "", "k", "1.2.3", "{1+2}", "1,5", "0x10", "nan", "inf", "1e999", "1" * 200])
def test_netlist_numbers_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        spice_number(text)


@pytest.mark.parametrize(
    "text, says",
    [
        ("1,200.5", "thousands"),
        ("12 000", "thousands"),
        ("4z7", "'z'"),
        ("9**9**9", "no unit"),
        ("1e999", "too large"),
        ("", "digits first"),
        ("nan", "digits first"),
        ("5 parsec", "no unit"),
        ("10²", "no unit"),
        ("1" * 300, "longer"),
        ("3V3 ohm", "goes with"),
    ],
)
def test_what_is_no_number_says_what_to_write(text: str, says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        si_number(text)


@pytest.mark.parametrize(
    "text, low, high",
    [("0.6", 0.55, 0.65), ("12.00", 11.995, 12.005), ("5", 4.5, 5.5), ("47k", 46.5e3, 47.5e3), ("4k7", 4650, 4750)],
)
def test_digits_typed_are_precision(text: str, low: float, high: float) -> None:
    number = read_number(text)
    assert (number.low, number.high) == (pytest.approx(low), pytest.approx(high))


@pytest.mark.parametrize(
    "value, unit, words",
    [
        (4700, "Ω", "4.7 kΩ"),
        (12, "V", "12.0 V"),
        (0.0058, "V", "5.8 mV"),
        (0.678, "V", "0.678 V"),
        (999.96, "Ω", "1 kΩ"),
        (-0.3, "V", "-0.3 V"),
        (0, "V", "0.0 V"),
        (1e-7, "F", "100 nF"),
        (22e3, "", "22k"),
        (math.inf, "Ω", "OL"),
        (math.nan, "V", "unknown"),
        (25, "°C", "25 °C"),
    ],
)
def test_say(value: float, unit: str, words: str) -> None:
    assert say(value, unit) == words


SIZES = st.floats(min_value=1e-14, max_value=1e13) | st.floats(min_value=-1e13, max_value=-1e-14)


@given(SIZES, st.sampled_from(["V", "A", "Ω", "F", "H", "W", "Hz", ""]), st.integers(2, 7))
def test_what_is_said_reads_back(value: float, unit: str, digits: int) -> None:
    back, symbol = si_number(say(value, unit, digits))
    assert symbol == unit
    assert back == pytest.approx(value, rel=0.51 * 10 ** (1 - digits))


@pytest.mark.parametrize(
    "text, spread",
    [
        ("22k", Spread.exact(22e3)),
        ("22k 5%", Spread(22e3, 20900, 23100, "uniform")),
        ("22k +- 5 %", Spread(22e3, 20900, 23100, "uniform")),
        ("2.3 V ± 5 %", Spread(2.3, 2.185, 2.415, "uniform")),
        ("2.3 V ± 0.1 V", Spread(2.3, 2.2, 2.4, "uniform")),
        ("10u -20/+80 %", Spread(10e-6, 8e-6, 18e-6, "uniform")),
        ("1k..100k", Spread(10e3, 1e3, 100e3, "log-uniform")),
        ("100k…1k", Spread(10e3, 1e3, 100e3, "log-uniform")),
        ("9..11", Spread(10, 9, 11, "uniform")),
        ("?", Spread(1e3, 1.0, 1e6, "log-uniform")),
    ],
)
def test_spreads_as_typed(text: str, spread: Spread) -> None:
    read = read_spread(text, unreadable=(1.0, 1e6))
    assert read.law == spread.law
    assert (read.nominal, read.low, read.high) == pytest.approx((spread.nominal, spread.low, spread.high))


@pytest.mark.parametrize("text", ["22k 5% 1%", "22k ± 120 %", "22k ± -5 %", "12 V", "1k..", "?", "22k ± 1 V", "5%%"])
def test_spreads_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        read_spread(text, "Ω")


@given(st.floats(1e-9, 1e9), st.integers(1, 99), st.sampled_from(["uniform", "log-uniform", "exact"]))
def test_a_spread_said_reads_back(nominal: float, percent: int, law: str) -> None:
    spread = {
        "uniform": Spread.uniform(nominal, percent / 100),
        "log-uniform": Spread.between(nominal, nominal * (2 + percent)),
        "exact": Spread.exact(nominal),
    }[law]
    back = read_spread(say_spread(spread, "Ω", 6), "Ω")
    assert back.law == spread.law
    assert (back.nominal, back.low, back.high) == pytest.approx((spread.nominal, spread.low, spread.high), rel=2e-5)


@given(st.text(max_size=300) | st.text(alphabet="0123456789.,eE+-±%kMmuRVΩ /", max_size=300))
def test_no_text_takes_long_or_breaks_the_family_of_errors(text: str) -> None:
    for read in (si_number, spice_number, read_spread):
        start = time.perf_counter()
        try:
            read(text)
        except KitError:
            pass
        assert time.perf_counter() - start < 1
