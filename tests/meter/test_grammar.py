"""The reading grammar: what may be typed, and what asks for more."""

import math
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shouldread.circuit import Circuit, load_circuit
from shouldread.errors import KitError, ReadingError
from shouldread.meter import Observation, Reading, read_readings
from shouldread.quantities import Spread

from tests.meter.boards import odd_names, stage

STAGE = stage()


def one(text: str, circuit: Circuit | None = STAGE, **more: object) -> Reading:
    (reading,) = read_readings(text, circuit=circuit, **more)  # type: ignore[arg-type]
    assert isinstance(reading, Reading)
    return reading


@pytest.mark.parametrize(
    "text, place",
    [
        ("12V 12.1", "12V"),
        ("12V=12.1", "12V"),
        ("+5V 5.02", "+5V"),
        ("V- -11.9", "V-"),
        ("v-: -11.9", "V-"),
        ("A-B 6", "A-B"),
        ("PWR_EN# 4.95", "PWR_EN#"),
        ("X:Y 6.0", "X:Y"),
        ("X:Y: 6.0", "X:Y"),
        ("R4.2 -11.9", "R4.2"),
        ("r4 16", "R4"),
        ("0 to 12V -12", "0"),
        ("Ground to 12V -12", "0"),
    ],
)
def test_places_as_boards_name_them(text: str, place: str) -> None:
    """The longest known name wins; case does not matter; a colon or equals sign behind a place is accepted."""
    assert one(text, odd_names()).place == place


def test_a_node_and_a_source_of_one_name() -> None:
    assert one("V12 0.02A", odd_names()).setting == "amps"
    assert one("V12 11.9", odd_names()).setting == "volts"


@pytest.mark.parametrize(
    "text, place, setting",
    [
        ("5V 2k1", "5V", "ohms"),
        ("3V3 340", "3V3", "volts"),
        ("proc: 0.8", "proc", "volts"),
        ("B1:0.6", "B1", "volts"),
        ("A:B 0.6", "A:B", "volts"),
        ("VBUS=5.1", "VBUS", "volts"),
        ("A: 0.6", "A", "volts"),
    ],
)
def test_without_a_circuit_the_first_word_is_the_place(text: str, place: str, setting: str) -> None:
    reading = one(text, None)
    assert (reading.place, reading.setting) == (place, setting)


@pytest.mark.parametrize(
    "text, state, conditions",
    [
        ("B1 0.6", "run", ()),
        ("B1 0.6 @aux_missing", "aux missing", ()),
        ("B1 0.6@Aux-Missing", "aux missing", ()),
        ("B1 0.6 @aux missing with R1 lifted", "aux missing", ("R1 lifted",)),
        ("B1 0.6 with r1 lifted and warm @aux missing", "aux missing", ("R1 lifted", "warm")),
        ("B1 0.6 with B1 to X linked", "run", ("B1 to X linked",)),
        ("B1 0.6 WITH q1.2 lifted", "run", ("Q1.b lifted",)),
        ("B1 0.6 with after repair", "run", ("after repair",)),
        ("B1 ohms 9k", "cold", ()),
        ("B1 diode 0.7 @cold", "cold", ()),
    ],
)
def test_state_and_condition_in_either_order(text: str, state: str, conditions: tuple[str, ...]) -> None:
    assert (one(text).state, one(text).conditions) == (state, conditions)


@pytest.mark.parametrize(
    "text, setting, value",
    [
        ("R1 47k ohm", "ohms", 47e3),
        ("R1 ohms 47k", "ohms", 47e3),
        ("R1 47 kΩ", "ohms", 47e3),
        ("R1 continuity 0.3", "ohms", 0.3),
        ("B1 V 0.6", "volts", 0.6),
        ("B1 volts 600 mV", "volts", 0.6),
        ("Q1.b to Q1.e diode 0.65 V", "diode", 0.65),
        ("B1 diode 0V65", "diode", 0.65),
        ("VAUX amps 0.02", "amps", 0.02),
        ("VAUX 20mA", "amps", 0.02),
        ("B1 1,200", "volts", 1.2),
        ("B1 > -1000 V", "volts", -1000),
        ("R1 rising", "ohms", 0),
        ("B1 diode 0.3 rising", "diode", 0.3),
    ],
)
def test_the_setting_is_said_or_implied(text: str, setting: str, value: float) -> None:
    reading = one(text)
    assert reading.setting == setting and reading.value == pytest.approx(value)


def test_a_heading_sets_what_follows() -> None:
    text = "B1 0.6\nohms cold:\nB1 8k2; X 10\nX OL\nB1 0.5 V\nvolts aux missing:\nX 3\ndiode: B1 0.7"
    told = [(r.place, r.setting, r.state) for r in read_readings(text, circuit=STAGE)]
    assert told == [
        ("B1", "volts", "run"),
        ("B1", "ohms", "cold"),
        ("X", "ohms", "cold"),
        ("X", "ohms", "cold"),
        ("B1", "volts", "run"),
        ("X", "volts", "aux missing"),
        ("B1", "diode", "cold"),
    ]
    assert [r.setting for r in read_readings("5V 340; 3V3 1.2k", setting="ohms")] == ["ohms", "ohms"]
    lifted = read_readings("ohms with R1 lifted:\nB1 10k\nX 3k with L1 bridged", circuit=STAGE)
    assert [r.conditions for r in lifted] == [("R1 lifted",), ("L1 bridged",)]


@pytest.mark.parametrize(
    "text, place, seen",
    [
        ("C17 hot", "C17", "hot"),
        ("c17 Cracked", "C17", "cracked"),
        ("C17 burned", "C17", "burnt"),
        ("C17 missing", "C17", "missing"),
        ("Q1.2 corroded", "Q1.b", "corroded"),
        ("X pulsing", "X", "pulsing"),
        ("X volts pulsing @run", "X", "pulsing"),
        ("nothing warm", "", "nothing warm"),
        ("Nothing hot @aux missing", "", "nothing warm"),
    ],
)
def test_observations_in_the_same_text(text: str, place: str, seen: str) -> None:
    (seen_there,) = read_readings(text, circuit=STAGE)
    assert isinstance(seen_there, Observation)
    assert (seen_there.place, seen_there.seen) == (place, seen)
    assert read_readings(str(seen_there), circuit=STAGE)[0] == Observation(
        place, seen, seen_there.state, text=str(seen_there)
    )


def test_missing_is_seen_at_a_part_and_read_at_a_node() -> None:
    assert one("X missing").form == "dead"
    assert isinstance(read_readings("C17 missing")[0], Observation)
    assert isinstance(read_readings("5V missing")[0], Reading)


def test_ok_is_within_the_feed_the_nominal_or_the_healthy_band() -> None:
    """± 5 % of a feed: ATX12V design guide 2.0, table 2."""
    assert (one("12V_MAIN ok").low, one("12V_MAIN ok").high) == (pytest.approx(11.4), pytest.approx(12.6))
    assert one("B1 ok").low == -math.inf
    nominal = {"3V3": Spread.uniform(3.3, 0.03), "5V": Spread.exact(5.0)}
    assert one("3v3 ok", None, nominals=nominal).high == pytest.approx(3.399)
    assert one("5V ok", None, nominals=nominal).high == pytest.approx(5.25)
    with pytest.raises(ReadingError, match="ok against what"):
        read_readings("1V8 ok", nominals=nominal)


ASKS = [
    ("B1 1.2k", "B1 ohms 1.2k"),
    ("B1 >2M", "ohms or volts"),
    ("B1 OL", "of what"),
    ("B1 340", "12.0 volts"),
    ("B1 0..340", "12.0 volts"),
    ("B1 amps 0.1", "VMAIN, VAUX"),
    ("R1 20mA", "VMAIN, VAUX"),
    ("48 @cold", "'48'"),
    ("B1 48 @cold", "ohms or diode"),
    ("B1 ohms 48 @run", "nothing fed"),
    ("B1 4k7 volts", "inside the digits"),
    ("B1 volts 4k7", "ohms, not volts"),
    ("R1 open", "fault, not a reading"),
    ("Q1 base open", "fault, not a reading"),
    ("VAUX low", "fault, not a reading"),
    ("L1 bridged", "with L1 bridged"),
    ("B1 high", "level"),
    ("NOSUCH 1.2", "'NOSUCH'"),
    ("Q1 0.6", "Q1.c to Q1.e"),
    ("Q1.7 0.6", "Q1.b"),
    ("R1 to X 0.6", "R1.1 or R1.2"),
    ("B1 to R1 0.6", "R1.1 or R1.2"),
    ("B1 0.3 to 0.4", "0.3..0.6"),
    ("B1 0.6 @nostate", "aux missing"),
    ("B1 0.6 with R77 lifted", "R77"),
    ("B1 0.6 with", "with R1 lifted"),
    ("B1 0.6 @ with warm", "@run"),
    ("B1 0.6 @run @run", "@run"),
    ("B1", "what did the display show"),
    ("B1 ohms", "is not a number"),
    ("12V_MAIN hot", "which part"),
    ("B1 1,200.5", "thousands"),
    ("@run", "say where first"),
    ("ohms: B1 -5", "charge"),
    ("ohms cold @run:", "two states"),
    ("B1 " + "0" * 400, "longer|characters"),
]


@pytest.mark.parametrize("text, says", ASKS)
def test_what_asks_for_more(text: str, says: str) -> None:
    with pytest.raises(ReadingError, match=says):
        read_readings(text, circuit=STAGE)


def test_all_bad_lines_are_told_at_once_and_the_text_is_kept() -> None:
    text = "\n".join(["B1 0.6", *(line for line, _ in ASKS), "X 1.0"])
    with pytest.raises(ReadingError) as told:
        read_readings(text, circuit=STAGE)
    assert told.value.value == text
    assert f"{len(ASKS)} readings cannot be taken" in str(told.value)
    for line, _ in ASKS:
        assert line.removeprefix("ohms: ")[:30] in str(told.value)
    assert "X 1.0" not in str(told.value)


def test_nearest_names_are_told_up_to_a_point() -> None:
    with pytest.raises(ReadingError) as told:
        read_readings("; ".join(["12V_MIAN 12"] * 60), circuit=STAGE)
    lines = str(told.value).splitlines()[1:]
    assert len(lines) == 60 and "nearest: 12V_MAIN" in lines[0] and "nearest" not in lines[-1]


@pytest.mark.parametrize("line", ["B1 0.6 with \u202egnol", "B1 0.6 @\x00", "B\u200b1 0.6"])
def test_control_and_format_characters_are_refused_and_shown_escaped(line: str) -> None:
    for circuit in (STAGE, None):
        with pytest.raises(ReadingError, match="format characters") as told:
            read_readings(line, circuit=circuit)
        assert str(told.value).replace("\n", "").isprintable()


def test_empty_text_and_blank_lines_are_nothing() -> None:
    assert read_readings("") == read_readings(" ;\n ;; ", circuit=STAGE) == ()


def test_repeats_are_separate_acts() -> None:
    first, second = read_readings("B1 0.6; B1 0.6", circuit=STAGE)
    assert first == second


def big_board() -> Circuit:
    return load_circuit("* big\nV1 N0 0 12\n" + "".join(f"R{i} N{i} N{i + 1} 1k\n" for i in range(400)))


BIG = big_board()
PIECES = st.sampled_from(
    ["B1", "Q1.b", "R1", "GND", " to ", " with ", "@", ";", "\n", ":", "=", " ", "ohms", "cold", "4k7", "OL", ">", "~",
     "..", "0.6", "rising", "beeps", "dead", "missing", "and", "lifted", "Ω", "\u2028", "\x00", "9" * 50, "e", "-", "no"]
)  # fmt: skip
TEXTS = (
    st.text(max_size=400) | st.lists(PIECES, max_size=60).map("".join) | st.lists(PIECES, max_size=60).map(" ".join)
)


@given(TEXTS, st.sampled_from([None, STAGE, BIG]))
@settings(max_examples=400, deadline=None)
def test_no_text_takes_long_or_leaves_the_family_of_errors(text: str, circuit: Circuit | None) -> None:
    start = time.perf_counter()
    try:
        for item in read_readings(text, circuit=circuit):
            assert read_readings(str(item), circuit=circuit)
    except KitError:
        pass
    assert time.perf_counter() - start < 5  # quadratic ones took minutes


@pytest.mark.parametrize(
    "text",
    [
        "N1:" * 30_000,
        "\n".join(f"X{i} 1" for i in range(1900)),
        "; ".join(["N1 0.5 with R1 lifted and R2 lifted"] * 1900),
        " to " * 25_000,
        "@" * 100_000,
        "N1 0.5\n" * 20_000,
        "x" * 200_000,
        "; ".join(["N1 9**9**9"] * 1000),
    ],
)
def test_hostile_lengths_end_soon(text: str) -> None:
    start = time.perf_counter()
    try:
        read_readings(text, circuit=BIG)
    except KitError:
        pass
    assert time.perf_counter() - start < 5  # quadratic ones took minutes


@pytest.mark.parametrize(
    ("typed", "parted"),
    [
        ("5V 5.02 3V3 0.01", "5V 5.02; 3V3 0.01"),
        ("5V 5.02, 3V3 0.01", "5V 5.02; 3V3 0.01"),
        ("TP3 10 mV TP4 12", "TP3 10 mV; TP4 12"),
        ("R3 ohms 47k R4 10k", "R3 ohms 47k; R4 10k"),
    ],
)
def test_two_readings_in_one_line_are_parted(typed: str, parted: str) -> None:
    """What to type is said in full, and can be taken."""
    with pytest.raises(ReadingError) as told:
        read_readings(typed, setting="volts")
    assert f"Put ';' between them: {parted}" in str(told.value)
    assert len(read_readings(parted, setting="volts" if "R3" not in parted else "ohms")) == 2


@pytest.mark.parametrize("typed", ["EN 0.02 FEED , 3", "EN 0.02 FEED ,", "EN 0.02, ,", "EN 0.02 FEED x"])
def test_what_is_no_second_reading_is_refused_as_one(typed: str) -> None:
    with pytest.raises(ReadingError, match="1 reading cannot be taken"):
        read_readings(typed)
