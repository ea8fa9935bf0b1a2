"""What is printed on parts, read and written."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shouldread.errors import KitError, QuantityError, UnknownNameError
from shouldread.quantities.colours import read_bands, write_bands
from shouldread.quantities.markings import read_marking, write_digits, write_eia96, write_letter_code
from shouldread.quantities.series import FIGURES


def first(text: str, unit: str = "Ω") -> tuple[float, float, float]:
    spread = read_marking(text, unit)[0].spread
    return spread.nominal, spread.low, spread.high


@pytest.mark.parametrize(
    "text, ohms",
    [
        ("220", 22.0),  # GDS-200 user manual, p. 178: the code 220 equals 22 Ω, 12R0 equals 12.0 Ω
        ("12R0", 12.0),
        ("103", 10e3),  # IEC 60062, from memory, and all below
        ("1002", 10e3),
        ("000", 0.0),
        ("4R7", 4.7),
        ("R47", 0.47),
        ("4K7", 4700.0),
        ("1M0", 1e6),
        ("5L00", 0.005),
        ("3G3", 3.3e9),
        ("39D", 249e3),  # worked examples of "EIA-96 resistor format" (1001ferramentas.com)
        ("01A", 100.0),
        ("68X", 49.9),
        ("12A", 130.0),  # "Understanding the EIA-96 code" (zaro.info); its 24 = 178 is off by one against E96
        ("24A", 174.0),
        ("96A", 976.0),
    ],
)
def test_resistors(text: str, ohms: float) -> None:
    assert first(text)[0] == pytest.approx(ohms)


@pytest.mark.parametrize(
    "text, unit, value, low, high",
    [
        ("4K7J", "Ω", 4700, 4465, 4935),
        ("104K", "F", 100e-9, 90e-9, 110e-9),
        ("4n7", "F", 4.7e-9, 4.7e-9, 4.7e-9),
        ("u47M", "F", 0.47e-6, 0.376e-6, 0.564e-6),
        ("2R2C", "F", 2.2e-12, 1.95e-12, 2.45e-12),
        ("103Z", "F", 10e-9, 8e-9, 18e-9),
        ("479", "F", 4.7e-12, 4.7e-12, 4.7e-12),
        ("4R7", "H", 4.7e-6, 4.7e-6, 4.7e-6),
        ("101K", "H", 100e-6, 90e-6, 110e-6),
    ],
)
def test_tolerance_letters_and_other_units(text: str, unit: str, value: float, low: float, high: float) -> None:
    """IEC 60062 from memory; digits of capacitors count picofarads, of coils microhenries."""
    assert first(text, unit) == pytest.approx((value, low, high))


def test_all_meanings_are_told() -> None:
    assert [m.code for m in read_marking("22R")] == ["letter and digits", "EIA-96"]
    assert str(read_marking("68C")[0]) == "49.9 kΩ ± 1 % (EIA-96)"


@pytest.mark.parametrize(
    "text, unit", [("", "Ω"), ("ABC", "Ω"), ("4X7", "Ω"), ("97A", "Ω"), ("4R7", "V"), ("1e3", "F")]
)
def test_what_is_no_marking(text: str, unit: str) -> None:
    with pytest.raises(KitError):
        read_marking(text, unit)


E24_OHMS = st.builds(lambda n, p: float(f"{n}e{p}"), st.sampled_from(FIGURES["E24"]), st.integers(-2, 7))
E96_OHMS = st.builds(lambda n, p: float(f"{n}e{p}"), st.sampled_from(FIGURES["E96"]), st.integers(-3, 5))


@given(E24_OHMS | E96_OHMS, st.sampled_from([0.001, 0.01, 0.02, 0.05, 0.1]))
def test_letter_code_reads_back(value: float, tolerance: float) -> None:
    read = [m for m in read_marking(write_letter_code(value, "Ω", tolerance)) if m.code == "letter and digits"]
    assert read[0].spread.nominal == pytest.approx(value)
    assert read[0].spread.high == pytest.approx(value * (1 + tolerance))


@given(st.sampled_from(FIGURES["E24"]), st.integers(-13, -5), st.sampled_from(["F", "H"]))
def test_letter_code_of_capacitors_and_coils_reads_back(figure: int, power: int, unit: str) -> None:
    value = float(f"{figure}e{power if unit == 'F' else max(power, -10)}")
    assert first(write_letter_code(value, unit), unit)[0] == pytest.approx(value)


@given(E24_OHMS)
def test_three_digits_read_back(value: float) -> None:
    assert first(write_digits(value))[0] == pytest.approx(value)


@given(E96_OHMS)
def test_four_digits_and_eia96_read_back(value: float) -> None:
    assert first(write_digits(value, figures=3))[0] == pytest.approx(value)
    meanings = {m.code: m.spread.nominal for m in read_marking(write_eia96(value))}
    assert meanings["EIA-96"] == pytest.approx(value)


@pytest.mark.parametrize(
    "bands, value, tolerance",
    [
        # worked examples of a published IEC 60062 colour chart (resistorcolorcodes.org/chart)
        ("brown black red gold", 1e3, 0.05),
        ("yellow violet red gold", 4.7e3, 0.05),
        ("red red orange gold", 22e3, 0.05),
        ("brown black black gold brown", 10.0, 0.01),
        # IEC 60062:2016, from memory
        ("brown black red", 1e3, 0.20),
        ("yellow purple black brown brown red", 4.7e3, 0.01),
        ("orange orange pink silver", 0.033, 0.10),
        ("red violet green gray", 2.7e6, 0.0001),
    ],
)
def test_bands(bands: str, value: float, tolerance: float) -> None:
    spread = read_bands(bands).spread
    assert spread.nominal == pytest.approx(value)
    assert spread.high == pytest.approx(value * (1 + tolerance))


def test_sixth_band_and_jumper() -> None:
    assert read_bands("yellow violet black brown brown red").coefficient == 50
    assert read_bands("black").spread.nominal == 0.0


@given(E24_OHMS, st.sampled_from([0.05, 0.10, 0.02]))
def test_four_bands_read_back(value: float, tolerance: float) -> None:
    spread = read_bands(write_bands(value, tolerance)).spread
    assert (spread.nominal, spread.high) == pytest.approx((value, value * (1 + tolerance)))


@given(E96_OHMS, st.sampled_from([0.01, 0.005, 0.001]))
def test_five_bands_read_back(value: float, tolerance: float) -> None:
    spread = read_bands(list(write_bands(value, tolerance, bands=5))).spread
    assert (spread.nominal, spread.high) == pytest.approx((value, value * (1 + tolerance)))


@pytest.mark.parametrize(
    "bands", ["gold red red red", "red red", "red red white white", "red red red black", "tan red red gold", ""]
)
def test_bands_that_mean_nothing(bands: str) -> None:
    with pytest.raises(KitError):
        read_bands(bands)


@given(st.text(max_size=60), st.sampled_from(["Ω", "F", "H"]))
def test_any_text_is_a_marking_or_a_kit_error(text: str, unit: str) -> None:
    try:
        assert read_marking(text, unit)
    except KitError:
        pass


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("", "Ω", "as printed: 4R7"),
        ("4k7k", "Ω", "type 4K7K"),
        ("4k7", "Ω", "type 4K7"),
        ("R", "Ω", "as printed"),
        ("٣٤٥", "Ω", "type 345"),
        ("97A", "Ω", "as printed"),
        ("4N7", "F", "type 4n7"),
        ("4K7", "F", "as printed: 104"),
        (None, "Ω", "as printed"),
    ],
)
def test_what_is_no_marking_is_told_with_what_would_be(text: str, unit: str, words: str) -> None:
    with pytest.raises(QuantityError, match=words):
        read_marking(text, unit)


@pytest.mark.parametrize("bands", ["", "brown", "gold black red brown", "braun schwarz rot", ["brown", 3, "red"]])
def test_wrong_bands_are_told(bands: str) -> None:
    with pytest.raises((QuantityError, UnknownNameError)):
        read_bands(bands)


@pytest.mark.parametrize("value", [-1.0, float("nan"), float("inf")])
def test_no_bands_for_what_is_no_resistance(value: float) -> None:
    with pytest.raises(QuantityError, match="positive value"):
        write_bands(value, 0.05)
