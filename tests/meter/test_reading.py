"""Reading and observation as nouns: made by hand, equal to what is typed, told in full words."""

import math

import pytest
import shouldread as sr
from hypothesis import given
from hypothesis import strategies as st
from shouldread.errors import KitError, ReadingError
from shouldread.meter import Observation, Reading, read_readings
from shouldread.meter.value import read_typed


@pytest.mark.parametrize(
    "made, typed",
    [
        (Reading("EN", 0.02), "EN 0.02"),
        (Reading("EN", "12,1 V", state="aux missing"), "EN 12,1 V @aux missing"),
        (Reading("L1", "OL", setting="ohms"), "L1 ohms OL"),
        (Reading("L1", math.inf, setting="ohms"), "L1 ohms OL"),
        (Reading("A", "0.6", to="B", condition="R1 lifted and warm"), "A to B 0.6 with R1 lifted and warm"),
        (Reading("A", "0.6", to="B", condition=("R1 lifted", "warm")), "A to B 0.6 with R1 lifted and warm"),
        (Reading("ground", 0.45, "diode", to="5V"), "GND to 5V diode 0.45"),
        (Reading("A", 1, to="GND"), "A 1"),
        (Reading("R1", "4k7"), "R1 4k7"),
    ],
)
def test_by_hand_and_typed_are_one(made: Reading, typed: str) -> None:
    (read,) = read_readings(typed)
    assert read == made and hash(read) == hash(made)
    assert read_readings(str(made)) == (made,)


def test_front_door_and_frozen() -> None:
    reading = sr.Reading("EN", 0.02)
    assert reading.unit == "V" and reading.is_number and reading.at == "EN"
    with pytest.raises(AttributeError):
        reading.value = 3.0  # type: ignore[misc]
    assert {reading: 1}[sr.Reading("EN", "0.02")] == 1


@pytest.mark.parametrize(
    "typed, words",
    [
        ("EN 20m", "EN volts: 20 millivolts, taken as 19.5 millivolts to 20.5 millivolts"),
        ("R1 2M ohm", "R1 ohms @cold: 2 megohms, taken as 1.5 megohms to 2.5 megohms"),
        ("5V 0", "5V volts: 0.0 volts, taken as -0.5 volts to 0.5 volts"),
        ("R1 ohms >2M", "R1 ohms @cold: above 2 megohms"),
        ("R1 ohms OL", "R1 ohms @cold: over the range (60 megohms or more)"),
        ("EN <50m", "EN volts: below 50 millivolts"),
        ("EN 0..4.9", "EN volts: wanders from 0.0 volts to 4.9 volts"),
        ("EN dead", "EN volts: dead (within ± 0.7 volts)"),
        ("R1 beeps", "R1 ohms @cold: beeps (below 35 ohms)"),
        ("R1 no beep", "R1 ohms @cold: no beep (above 35 ohms)"),
        ("A 1.2k rising", "A ohms @cold: rising, past 1.15 kilohms"),
        (
            "A to B 0.6 @run with R1 lifted",
            "A to B volts @run, R1 lifted: 0.6 volts, taken as 0.55 volts to 0.65 volts",
        ),
        ("VIN 0.02A", "VIN amps: 20 milliamperes, taken as 15 milliamperes to 25 milliamperes"),
        ("EN ok", "EN volts: as it should be"),
    ],
)
def test_echo_in_full_words(typed: str, words: str) -> None:
    (reading,) = read_readings(typed)
    assert reading.words == words


@pytest.mark.parametrize(
    "arguments, says",
    [
        (("EN", ""), "what did the display show"),
        (("EN", "1.2k"), "EN ohms 1.2k"),
        (("EN", "OL"), "Say the setting"),
        (("EN", "48", "", "cold"), "nothing is fed"),
        (("EN", "47k", "ohms", "run"), "nothing fed"),
        (("EN", "0.6 V", "ohms"), "volts, not ohms"),
        (("EN", "4k7", "volts"), "ohms, not volts"),
        (("EN", -3, "ohms"), "charge"),
        (("E N", 1), "no place"),
        (("", 1), "no place"),
        (("EN", "22 uF"), "not F"),
        (("EN", "4n7"), "never written with n"),
        (("EN", "1.2..1.4k"), "both ends"),
        (("EN", "1 V..2 ohm"), "mixes"),
        (("EN", 1, "farads"), "farads"),
    ],
)
def test_what_cannot_be_says_why(arguments: tuple[object, ...], says: str) -> None:
    with pytest.raises(KitError, match=says):
        Reading(*arguments)  # type: ignore[arg-type]


def test_thresholds_come_from_the_meter() -> None:
    assert Reading("R1", "beeps", meter="cheap").high == 100
    assert Reading("R1", "OL", "ohms", meter="cheap").low == 2e6
    assert Reading("D1", "OL", "diode").low == 2.5


def test_ok_is_open_until_someone_knows_a_band() -> None:
    assert (Reading("EN", "ok").low, Reading("EN", "ok").high) == (-math.inf, math.inf)
    assert (Reading("EN", "ok", band=(3.2, 3.4)).low, Reading("EN", "ok", band=(3.2, 3.4)).high) == (3.2, 3.4)


def test_observations() -> None:
    assert str(Observation("C17", "cracked")) == "C17 cracked"
    assert Observation("", "nothing warm").words == "nothing on the board is warm"
    with pytest.raises(ReadingError, match="burnt"):
        Observation("C17", "sad")


FIGURES = st.floats(1e-6, 1e8).map(lambda v: f"{v:.4g}")
VALUES = st.one_of(
    FIGURES,
    FIGURES.map(lambda f: f"{f} V"),
    FIGURES.map(lambda f: f"~{f}"),
    FIGURES.map(lambda f: f"> {f} V"),
    st.tuples(FIGURES, FIGURES).map(lambda p: "..".join(sorted(p, key=float))),
    st.sampled_from(["dead", "ok", "4k7", "4R7", "3V3", "beeps", "no beep", "1.2k rising", "rising", "2k1 ohm"]),
)
NAMES = st.text("ABCXYZ0123456789_+-#.", min_size=1, max_size=8)
CONDITIONS = st.lists(st.text("abcLR1 ", min_size=1, max_size=9).map(str.strip).filter(bool), max_size=2)


@given(NAMES, VALUES, NAMES | st.just(""), st.sampled_from(["", "run", "aux missing"]), CONDITIONS)
def test_a_reading_told_reads_back(place: str, value: str, to: str, state: str, conditions: list[str]) -> None:
    if read_typed(value).implies == "ohms":
        state = ""
    made = Reading(place, value, state=state, to=to, condition=tuple(conditions))
    assert read_readings(str(made)) == (made,)
    assert made.low <= made.value <= made.high or made.form in ("beeps", "no beep")
    assert made.words
