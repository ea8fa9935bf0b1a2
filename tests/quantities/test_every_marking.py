"""Marking codes (IEC 60062, EIA-96, E series of IEC 60063; from memory): every value there and back, every bad form told.

Walked in full, not drawn at random: all figures of all series in all decades that a code can write, every colour in
every place of 3 to 6 bands, every case of every letter, signs of other scripts, and numbers that are none.
"""

import math
from collections.abc import Callable, Iterator
from itertools import product

import pytest
from shouldread.errors import KitError, QuantityError, UnknownNameError
from shouldread.quantities import (
    markings,
    read_bands,
    read_marking,
    write_bands,
    write_digits,
    write_eia96,
    write_letter_code,
)
from shouldread.quantities.colours import COLOURS
from shouldread.quantities.series import FIGURES, is_preferred, nearest, next_above, next_below, series_of

SERIES = ("E24", "E96", "E192")
DECADES = {"Ω": range(-3, 10), "F": range(-12, -2), "H": range(-9, 0)}  # of the first figure
NO_NUMBERS = (math.nan, math.inf, -math.inf, -1.0, -4700.0)


def values(unit: str, series: str) -> Iterator[float]:
    size = 1 if series == "E24" else 2
    for decade, figure in product(DECADES[unit], FIGURES[series]):
        yield float(f"{figure}e{decade - size}")


def coded(meanings: tuple[markings.Marking, ...], code: str) -> float:
    return next(m.spread.nominal for m in meanings if m.code == code)


@pytest.mark.parametrize(("unit", "series"), list(product(DECADES, SERIES)))
def test_letter_codes_there_and_back(unit: str, series: str) -> None:
    """Every value from a milliohm to gigaohms, a picofarad to millifarads, a nanohenry up: exactly itself again."""
    for value in values(unit, series):
        code = write_letter_code(value, unit)
        assert coded(read_marking(code, unit), "letter and digits") == pytest.approx(value, rel=1e-12), code
        assert len(code) <= 5, code


@pytest.mark.parametrize("letter", markings.TOLERANCE_LETTERS)
def test_tolerance_letters_there_and_back(letter: str) -> None:
    """Behind every E24 value; those with two like sides are also written."""
    below, above = markings.TOLERANCE_LETTERS[letter]
    for value in values("Ω", "E24"):
        code = write_letter_code(value) + letter
        spread = next(m.spread for m in read_marking(code) if m.code == "letter and digits")
        assert (spread.low, spread.high) == pytest.approx((value * (1 - below / 100), value * (1 + above / 100)))
        if below == above:
            assert write_letter_code(value, tolerance=above / 100) == code


@pytest.mark.parametrize(
    ("unit", "series", "figures"), [(u, "E24", 2) for u in DECADES] + [("Ω", "E96", 3), ("Ω", "E192", 3)]
)
def test_digits_there_and_back(unit: str, series: str, figures: int) -> None:
    """What three or four characters reach reads back; what they do not is refused, and only that."""
    least, most = {2: (0.1, 91e8), 3: (0.1, 988e8)}[figures]
    count = 10.0 ** markings.DIGITS_COUNT[unit]
    for value in values(unit, series):
        if least <= value / count * (1 + 1e-9) <= most * (1 + 1e-8):
            code = write_digits(value, unit, figures)
            assert any(m.spread.nominal == pytest.approx(value, rel=1e-12) for m in read_marking(code, unit)), code
            assert len(code) == figures + 1
        else:
            with pytest.raises(QuantityError, match="cannot say"):
                write_digits(value, unit, figures)


def test_eia96_there_and_back() -> None:
    """All 96 codes times all letters that are written, and every letter that is only read."""
    for value in values("Ω", "E96"):
        if 0.0995 <= value <= 97.7e6:
            code = write_eia96(value)
            assert coded(read_marking(code), "EIA-96") == pytest.approx(value, rel=1e-12)
            assert len(code) == 3 and code[:2].isdigit() and code[2].isalpha()
        else:
            with pytest.raises(QuantityError, match="EIA-96 cannot say"):
                write_eia96(value)
    for index, (letter, power) in product(range(1, 97), markings.EIA96_LETTERS.items()):
        told = coded(read_marking(f"{index:02d}{letter}"), "EIA-96")
        assert told == pytest.approx(FIGURES["E96"][index - 1] * 10.0**power, rel=1e-12)


@pytest.mark.parametrize(("bands", "series"), [(3, "E24"), (4, "E24"), (5, "E24"), (5, "E96"), (5, "E192")])
def test_bands_there_and_back(bands: int, series: str) -> None:
    """Every value with every tolerance that a colour shows; three bands mean 20 %."""
    percents = [20.0] if bands == 3 else [c.tolerance for c in COLOURS.values() if c.tolerance is not None]
    for value, percent in product(values("Ω", series), percents):
        try:
            shown = write_bands(value, percent / 100, bands)
        except QuantityError:
            assert value < 0.99 * 10.0 ** ((3 if bands == 5 else 2) - 4), (
                value
            )  # pink, x 0.001, is the least multiplier
            continue
        spread = read_bands(shown).spread
        assert len(shown) == bands and spread.nominal == pytest.approx(value, rel=1e-12)
        assert spread.high == pytest.approx(value * (1 + percent / 100), rel=1e-12)


ROLES = {
    3: ("figure", "figure", "power"),
    4: ("figure", "figure", "power", "tolerance"),
    5: ("figure", "figure", "figure", "power", "tolerance"),
    6: ("figure", "figure", "figure", "power", "tolerance", "coefficient"),
}
SOUND = ("brown", "brown", "brown", "brown", "brown", "brown")  # may stand in every place


@pytest.mark.parametrize(("count", "place"), [(n, k) for n, roles in ROLES.items() for k in range(len(roles))])
def test_every_colour_in_every_place(count: int, place: int) -> None:
    """Read as the table says, or refused with the colours that may stand there."""
    role = ROLES[count][place]
    for colour, means in COLOURS.items():
        bands = [*SOUND[:place], colour, *SOUND[place + 1 : count]]
        value = getattr(means, role)
        if value is None or (place == 0 and colour == "black"):
            with pytest.raises(QuantityError, match="wrong end") as caught:
                read_bands(bands)
            assert colour in str(caught.value)
            assert "yellow" in str(caught.value)
            continue
        read = read_bands(bands)
        figures = [COLOURS[b].figure for b, r in zip(bands, ROLES[count], strict=True) if r == "figure"]
        power = COLOURS[bands[ROLES[count].index("power")]].power
        assert read.spread.nominal == pytest.approx(float(f"{''.join(map(str, figures))}e{power}"))
        percent = COLOURS[bands[ROLES[count].index("tolerance")]].tolerance if count > 3 else 20.0
        assert percent is not None and read.spread.high == pytest.approx(read.spread.nominal * (1 + percent / 100))
        assert read.coefficient == (COLOURS[bands[5]].coefficient if count == 6 else None)


@pytest.mark.parametrize("count", [4, 5])
def test_bands_from_the_wrong_end(count: int) -> None:
    """A resistor of gold or silver tolerance read backwards is refused, and told so; others may read as another value."""
    for value, tolerance in product(values("Ω", "E24"), (0.05, 0.1)):
        try:
            shown = write_bands(value, tolerance, count)
        except QuantityError:
            continue
        with pytest.raises(QuantityError, match="wrong end"):
            read_bands(shown[::-1])


@pytest.mark.parametrize("gap", [" ", ", ", ",", "-", " - ", "/", ";", "\t", "\n", "  "])
@pytest.mark.parametrize("case", [str.upper, str.lower, str.title, str.swapcase])
def test_bands_in_any_case_with_any_gap(gap: str, case: Callable[[str], str]) -> None:
    assert str(read_bands(case(gap.join(("yellow", "violet", "red", "gold"))))) == "4.7 kΩ ± 5 %"
    assert str(read_bands(case(gap.join(("yellow", "purple", "black", "brown", "gray"))))) == "4.7 kΩ ± 0.01 %"


@pytest.mark.parametrize("count", [0, 1, 2, 7, 8, 40, 5000])
def test_too_few_and_too_many_bands(count: int) -> None:
    for bands in (["brown"] * count, " ".join(["brown"] * count)):
        with pytest.raises(QuantityError, match=f"not {count}: write for instance yellow violet red gold"):
            read_bands(bands)


@pytest.mark.parametrize(
    "bands",
    ["yelow violet red gold", "yеllow violet red gold", "gelb violett rot gold", "ｙｅｌｌｏｗ violet red gold",
     "4 7 2 5", "yellowvioletredgold", "🟡🟣🔴", "\0 red red", "x" * 10_000, None, 472, math.nan, b"red red red",
     ["red", None, "red"], [math.nan] * 4],
)  # fmt: skip
def test_what_is_no_colour_is_told_with_the_colours(bands: object) -> None:
    with pytest.raises(UnknownNameError) as caught:
        read_bands(bands)  # type: ignore[arg-type]
    assert "yellow" in str(caught.value) and len(str(caught.value)) < 400


GOOD = {
    "Ω": (
        "4R7",
        "R47",
        "4K7",
        "4K7J",
        "49K9F",
        "1M0",
        "5L00",
        "L005",
        "3G3",
        "103",
        "1002",
        "68C",
        "01A",
        "22R",
        "0R5",
    ),
    "F": ("4n7", "4p7", "p47", "u47M", "104", "104K", "4R7", "2R2C", "1m0"),
    "H": ("4n7", "4u7", "4R7", "101", "101K", "R47M", "1m0"),
}
GOOD_CODES = [(code, unit) for unit, codes in GOOD.items() for code in codes]


def told(code: str, unit: str) -> list[float]:
    return [m.spread.nominal for m in read_marking(code, unit)]


def suggested(code: str, unit: str) -> str:
    """What the error says; it names no code that it would refuse itself."""
    with pytest.raises(QuantityError) as caught:
        read_marking(code, unit)
    said = str(caught.value)
    assert ("type " in said or "as printed" in said) and len(said) < 400
    for hint in said.partition("; type ")[2].split(" or "):
        if hint:
            assert read_marking(hint.split(" for ")[0], unit)
    return said


@pytest.mark.parametrize(("code", "unit"), GOOD_CODES)
def test_every_case_of_every_letter(code: str, unit: str) -> None:
    """Read as printed where that case is a code too; else refused with the right one."""
    for signs in product(*((s.upper(), s.lower()) for s in code)):
        form = "".join(signs)
        try:
            found = told(form, unit)
        except QuantityError:
            assert f"{code} for " in suggested(form, unit), form
            continue
        assert found == told(code, unit) or form != code  # 4m7 of farads is no 4M7: another code, read as it stands


LOOKING_LIKE = {  # full width, Arabic, Bengali, Cyrillic, Greek, the Kelvin sign
    "0": "O\uff10\u0660", "1": "Il\uff11\u0661", "4": "\uff14\u0664\u09ea", "7": "\uff17\u0667",
    "K": "\u041a\u039a\uff2b\u212a", "M": "\u041c\u039c\uff2d", "R": "\u03a9\u2126", "n": "\uff4e",
}  # fmt: skip


@pytest.mark.parametrize(("code", "unit"), GOOD_CODES)
def test_signs_of_other_scripts_and_widths(code: str, unit: str) -> None:
    """Never taken for something else: refused, with the sign that was meant."""
    for at, sign in enumerate(code):
        for other in LOOKING_LIKE.get(sign, ""):
            form = code[:at] + other + code[at + 1 :]
            assert f"{code} for " in suggested(form, unit), form


@pytest.mark.parametrize(("code", "unit"), GOOD_CODES)
def test_gaps_signs_and_more_than_a_code(code: str, unit: str) -> None:
    """Around a code gaps are nothing; within it, or with anything more, it is refused."""
    assert told(f" {code}\n", unit) == told(f"\t{code}\u00a0", unit) == told(code, unit)
    for at in range(1, len(code)):
        assert f"{code} for " in suggested(f"{code[:at]} {code[at:]}", unit)
    for more in ("-" + code, "+" + code, code + "%", code * 4, code + "\0", code + "Ω", "1e" + code, code + "🙂"):
        with pytest.raises(QuantityError):
            read_marking(more, unit)


@pytest.mark.parametrize("unit", GOOD)
@pytest.mark.parametrize(
    "text", ["", " ", "nan", "NaN", "inf", "-inf", "1e3", "4.7K", "4,7K", "-1", "--", "R", "K", "J", "½", "Ⅳ", "²³",
             "9" * 10_000, "R" * 10_000, "4K7" * 1000, "\0", "4K7K7", "4KK7", "00X", "97A", "00A", "99Z", None, math.nan, [], b"4K7"]
)  # fmt: skip
def test_what_is_no_marking(text: object, unit: str) -> None:
    suggested(text, unit)  # type: ignore[arg-type]


@pytest.mark.parametrize("unit", ["", "V", "ohm", "Ω ", "ω", "f", None])
def test_a_unit_that_no_marking_has(unit: object) -> None:
    with pytest.raises(QuantityError, match="Ω, F or H"):
        read_marking("103", unit)  # type: ignore[arg-type]


@pytest.mark.parametrize("value", NO_NUMBERS)
def test_numbers_that_no_code_says(value: float) -> None:
    writes: list[Callable[[], object]] = [
        *(lambda u=u: write_letter_code(value, u) for u in DECADES),  # type: ignore[misc]
        *(lambda u=u, n=n: write_digits(value, u, n) for u in DECADES for n in (2, 3)),  # type: ignore[misc]
        *(lambda n=n: write_bands(value, 0.05, n) for n in (3, 4, 5)),  # type: ignore[misc]
        lambda: write_eia96(value),
        *(lambda s=s, f=f: f(value, s) for s in FIGURES for f in (nearest, next_above, next_below, is_preferred)),  # type: ignore[misc]
        lambda: series_of(value),
    ]
    for write in writes:
        with pytest.raises(QuantityError, match=r"positive|above 0"):
            write()


@pytest.mark.parametrize("tolerance", [math.nan, math.inf, -0.05, 0.07, 1e9])
def test_tolerances_that_nothing_shows(tolerance: float) -> None:
    for write in (lambda: write_letter_code(4700.0, tolerance=tolerance), lambda: write_bands(4700.0, tolerance)):
        with pytest.raises(KitError, match=r"±|no letter|no band"):
            write()


@pytest.mark.parametrize("figures", [-1, 0, 1, 4, 100])
def test_codes_of_other_lengths(figures: int) -> None:
    with pytest.raises(QuantityError, match="2 or 3 figures"):
        write_digits(4700.0, figures=figures)
    with pytest.raises(QuantityError, match="3, 4 or 5 bands"):
        write_bands(4700.0, 0.05, 6 if figures == 4 else figures)


@pytest.mark.parametrize("series", ["", "E95", "96", "Ｅ９６", "E 24", "Е24", "E1e3"])
def test_series_that_are_none(series: str) -> None:
    with pytest.raises(UnknownNameError, match="E96"):
        nearest(4700.0, series)
