"""How readings may be typed, and what asks for more."""

import math

import pytest
import shouldread as sr
from shouldread.meter import Observation, read_readings

STAGE = """* stage
VMAIN 12V_MAIN 0 12
VAUX 12V_AUX 0 12
F1 12V_AUX F_OUT 0
R1 12V_MAIN B1 47k
R2 B1 0 10k
Q1 X B1 0 QN
R3 12V_AUX X 10k
C17 X 0 1u
.model QN NPN(IS=7e-15 BF=180)
*: [states]
*: run = {}
*: aux_missing = { VAUX = "absent" }
""".replace("F1 12V_AUX F_OUT 0\n", "")


def one(text: str) -> sr.Reading:
    (reading,) = read_readings(text, circuit=sr.load_circuit(STAGE))
    assert isinstance(reading, sr.Reading)
    return reading


@pytest.mark.parametrize(
    "text, place, setting, low, high",
    [
        ("B1 0.6", "B1", "volts", 0.55, 0.65),
        ("B1 0,67 V", "B1", "volts", 0.665, 0.675),
        ("B1: 600mV", "B1", "volts", 0.5995, 0.6005),
        ("12V_MAIN=12.1", "12V_MAIN", "volts", 12.05, 12.15),
        ("R1 ohms 4k7", "R1", "ohms", 4650, 4750),
        ("R1 4R7", "R1", "ohms", 4.65, 4.75),
        ("R1 47k ohm", "R1", "ohms", 46500, 47500),
        ("X 3V3", "X", "volts", 3.25, 3.35),
        ("B1 .02", "B1", "volts", 0.015, 0.025),
        ("B1 0..4.9", "B1", "volts", 0.0, 4.9),
        ("B1 ~0.6", "B1", "volts", 0.48, 0.72),
        ("b1 5.5e-05", "B1", "volts", 5.45e-5, 5.55e-5),
    ],
)
def test_values_as_people_write_them(text: str, place: str, setting: str, low: float, high: float) -> None:
    reading = one(text)
    assert (reading.place, reading.setting) == (place, setting)
    assert reading.low == pytest.approx(low, rel=1e-6) and reading.high == pytest.approx(high, rel=1e-6)


def test_states_conditions_and_pairs() -> None:
    reading = one("B1 to X 0.6 @aux missing with R1 lifted and warm")
    assert (reading.place, reading.to) == ("B1", "X")
    assert reading.state.replace("_", " ") == "aux missing"
    assert set(reading.conditions) == {"R1 lifted", "warm"}
    assert one("B1 0.6 with R1 bridged @aux-missing").state.replace("_", " ") == "aux missing"


def test_over_limit_and_dead() -> None:
    assert one("R1 ohms OL").high == math.inf
    assert (one("R1 OL ohms").setting, one("R1 OL ohms").high) == ("ohms", math.inf)
    assert one("X OL diode").setting == one("X 0.45 diode").setting == "diode"
    assert one("R1 >2M ohm").low == pytest.approx(2e6)
    dead = one("X dead")
    assert (dead.low, dead.high) == (pytest.approx(-0.7), pytest.approx(0.7))


@pytest.mark.parametrize(
    "text", ["B1 1.2k", "B1 >2M", "B1 OL", "B1 340", "B1 amps 0.1", "48 @cold", "B1 4k7 volts", "R1 open"]
)
def test_what_asks_for_more(text: str) -> None:
    with pytest.raises(sr.KitError):
        read_readings(text, circuit=sr.load_circuit(STAGE))


def test_all_bad_lines_at_once() -> None:
    with pytest.raises(sr.KitError) as told:
        read_readings("B1 0.6; NOSUCH 1.2; X 3,3; B1 1.2k", circuit=sr.load_circuit(STAGE))
    assert "NOSUCH" in str(told.value) and "1.2k" in str(told.value)


def test_a_setting_for_what_follows() -> None:
    items = read_readings("ohms cold:\nB1 47k\nX 10k\n", circuit=sr.load_circuit(STAGE))
    assert [i.setting for i in items] == ["ohms", "ohms"]


def test_observations_in_the_same_text() -> None:
    items = read_readings("C17 cracked; nothing warm; B1 0.67", circuit=sr.load_circuit(STAGE))
    assert [isinstance(i, Observation) for i in items] == [True, True, False]


def test_amps_and_volts_of_a_supply() -> None:
    assert one("VAUX 0.02A").setting == "amps"
    assert one("VAUX 11.6").setting == "volts"
