"""Preferred values against published tables."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shouldread.errors import KitError, UnknownNameError
from shouldread.quantities.series import FIGURES, is_preferred, nearest, next_above, next_below, series_of

# "Standard Resistors Values", technick.net guide, tables E6 to E96 (values of IEC 60063)
PUBLISHED = {
    "E6": "1.00 1.50 2.20 3.30 4.70 6.80",
    "E12": "1.00 1.20 1.50 1.80 2.20 2.70 3.30 3.90 4.70 5.60 6.80 8.20",
    "E24": "1.00 1.10 1.20 1.30 1.50 1.60 1.80 2.00 2.20 2.40 2.70 3.00 3.30 3.60 3.90 4.30 "
    "4.70 5.10 5.60 6.20 6.80 7.50 8.20 9.10",
    "E48": "1.00 1.05 1.10 1.15 1.21 1.27 1.33 1.40 1.47 1.54 1.62 1.69 1.78 1.87 1.96 2.05 "
    "2.15 2.26 2.37 2.49 2.61 2.74 2.87 3.01 3.16 3.32 3.48 3.65 3.83 4.02 4.22 4.42 "
    "4.64 4.87 5.11 5.36 5.62 5.90 6.19 6.49 6.81 7.15 7.50 7.87 8.25 8.66 9.09 9.53",
    "E96": "1.00 1.02 1.05 1.07 1.10 1.13 1.15 1.18 1.21 1.24 1.27 1.30 1.33 1.37 1.40 1.43 "
    "1.47 1.50 1.54 1.58 1.62 1.65 1.69 1.74 1.78 1.82 1.87 1.91 1.96 2.00 2.05 2.10 "
    "2.15 2.21 2.26 2.32 2.37 2.43 2.49 2.55 2.61 2.67 2.74 2.80 2.87 2.94 3.01 3.09 "
    "3.16 3.24 3.32 3.40 3.48 3.57 3.65 3.74 3.83 3.92 4.02 4.12 4.22 4.32 4.42 4.53 "
    "4.64 4.75 4.87 4.99 5.11 5.23 5.36 5.49 5.62 5.76 5.90 6.04 6.19 6.34 6.49 6.65 "
    "6.81 6.98 7.15 7.32 7.50 7.68 7.87 8.06 8.25 8.45 8.66 8.87 9.09 9.31 9.53 9.76",
}


@pytest.mark.parametrize("series", PUBLISHED)
def test_series_as_published(series: str) -> None:
    published = [float(text) for text in PUBLISHED[series].split()]
    scale = 10 if FIGURES[series][0] == 10 else 100
    assert [n / scale for n in FIGURES[series]] == pytest.approx(published)


def test_e192_holds_e96_and_its_one_exception() -> None:
    """IEC 60063, from memory: 192 values, 9.20 stands where the formula gives 9.19."""
    assert len(FIGURES["E192"]) == 192 and len(set(FIGURES["E192"])) == 192
    assert set(FIGURES["E96"]) <= set(FIGURES["E192"])
    assert 920 in FIGURES["E192"] and 919 not in FIGURES["E192"]


@pytest.mark.parametrize(
    "value, series, below, above, near",
    [
        (5e3, "E24", 4.7e3, 5.1e3, 5.1e3),
        (5e3, "E96", 4.99e3, 5.11e3, 4.99e3),
        (95.0, "E24", 91.0, 100.0, 91.0),
        (9.8e5, "E96", 9.76e5, 1e6, 9.76e5),
        (0.47, "e12", 0.47, 0.47, 0.47),
        (1e6, "E3", 1e6, 1e6, 1e6),
        (100e3 * 1.24 / (9 - 1.24), "E96", 15.8e3, 16.2e3, 15.8e3),
    ],
)
def test_neighbours(value: float, series: str, below: float, above: float, near: float) -> None:
    assert next_below(value, series) == pytest.approx(below)
    assert next_above(value, series) == pytest.approx(above)
    assert nearest(value, series) == pytest.approx(near)


def test_which_series_a_value_tells() -> None:
    assert series_of(47e3) == "E3" and series_of(15.8e3) == "E96" and series_of(5e3) is None
    assert is_preferred(4.99e3, "E96") and not is_preferred(4.99e3, "E24")


@given(st.floats(1e-12, 1e12), st.sampled_from(sorted(FIGURES)))
def test_a_value_lies_between_its_neighbours(value: float, series: str) -> None:
    low, high = next_below(value, series), next_above(value, series)
    assert low <= value * (1 + 1e-8) and value <= high * (1 + 1e-8)
    assert nearest(value, series) in (low, high)
    assert is_preferred(low, series) and is_preferred(high, series)
    assert high / low < 2.3


def test_no_such_series_and_no_such_value() -> None:
    with pytest.raises(UnknownNameError, match="E96"):
        nearest(1e3, "E97")
    for value in (0.0, -1.0, float("nan"), float("inf")):
        with pytest.raises(KitError):
            nearest(value)
