"""Meter profiles: what the shipped ones promise, and profiles of one's own."""

import pytest
from shouldread.errors import KitError, RequestError, UnknownNameError
from shouldread.meter import meter, meter_names
from shouldread.meter.profile import Meter
from shouldread.meter.setting import SETTINGS


def test_three_meters_and_the_default() -> None:
    assert meter_names() == ("handheld", "cheap", "bench")
    assert meter() is meter("handheld") and meter(meter("bench")).name == "bench"


@pytest.mark.parametrize(
    "name, counts, percent, digits",
    [("handheld", 6000, 0.5, 2), ("cheap", 2000, 0.8, 2), ("bench", 1_200_000, 0.005, 2)],
)
def test_volts_of_each(name: str, counts: int, percent: float, digits: float) -> None:
    profile = meter(name)
    assert profile.counts == counts and profile.input_ohms == 10e6
    assert {(r.percent, r.digits) for r in profile.volts} == {(percent, digits)}


def test_what_the_ohms_ranges_put_on_the_leads() -> None:
    """4000-count meter manual (all-guides.com, p. 16): 1.2 V on the lowest range, 0.45 V above; M-1000D: 3.2 V."""
    handheld = meter("handheld").ohms
    assert [r.open_volts for r in handheld] == [1.2] + [0.45] * 5
    assert {r.open_volts for r in meter("cheap").ohms} == {3.2}
    assert next(r.source_ohms for r in handheld if r.top == 60e3) == pytest.approx(45e3)
    assert meter("handheld").diode[0].short_amps == 1e-3


@pytest.mark.parametrize("name", ["handheld", "cheap", "bench"])
def test_every_setting_has_ranges_in_rising_order(name: str) -> None:
    for setting in SETTINGS:
        ranges = meter(name).ranges(setting)
        assert [r.top for r in ranges] == sorted({r.top for r in ranges})
        for r in ranges:
            assert r.resolution * meter(name).counts >= r.top * (1 - 1e-9)
            assert r.resolution < r.top / 10
            assert (r.open_volts > 0) == SETTINGS[setting].cold


OWN = """
name = "the old one"
like = "cheap"
input_ohms = "1 Mohm"
ohms = [
  { tops = ["2k"], accuracy = "1 % + 2", open_volts = "1.2 V", short_amps = "1 mA", lead_ohms = 0.3 },
  { tops = ["20k", "200k"], accuracy = "1 % + 2", open_volts = "1.2 V", short_amps = "100 uA" },
]
"""


def test_an_own_profile_states_what_differs() -> None:
    own = meter(OWN)
    assert (own.name, own.input_ohms, own.counts) == ("the old one", 1e6, 2000)
    assert [r.top for r in own.ohms] == [2e3, 20e3, 200e3] and own.ohms[0].lead_ohms == 0.3
    assert own.volts == meter("cheap").volts
    assert meter({"input_ohms": 11e6}).input_ohms == 11e6
    assert len({own, meter(OWN), meter("cheap")}) == 2


@pytest.mark.parametrize(
    "text, says",
    [
        ("input = 3\n", "key"),
        ("input_ohms = 'x'\n", "input_ohms"),
        ("input_ohms = -1\n", "positive"),
        ("counts = 0\n", "positive"),
        ("like = 'nosuch'\n", "nosuch"),
        ("ohms = [{ tops = ['60k'], accuracy = '1 % + 2' }]\n", "open_volts"),
        ("volts = [{ tops = ['6 V'], accuracy = 'good' }]\n", "accuracy"),
        ("volts = [{ tops = [0], accuracy = '1 %' }]\n", "positive"),
        ("volts = [{ top = 6 }]\n", "top"),
        ("volts = []\n", "list of ranges"),
        ("volts = [3]\n", "table"),
        ("volts = 3\n", "list of ranges"),
        ("volts = [{ accuracy = '1 %' }]\n", "tops"),
        ("not toml\n", "not TOML"),
        ("x = " + "[" * 5000 + "\n", "not TOML"),
        ("a" * 300_000 + "\n", "not read"),
    ],
)
def test_a_profile_that_cannot_be_read_says_where(text: str, says: str) -> None:
    with pytest.raises(KitError, match=says):
        meter(text)


def test_names_that_are_none() -> None:
    with pytest.raises(UnknownNameError, match="nearest: handheld"):
        meter("handhold")
    with pytest.raises(UnknownNameError):
        meter().ranges("farads")
    with pytest.raises(RequestError):
        meter({"counts": True})
    assert isinstance(meter({}), Meter)
