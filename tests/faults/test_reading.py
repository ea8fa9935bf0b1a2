"""Fault names: canonical spellings, everything else that people write, and what is refused with a reason."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shouldread.errors import KitError, QuantityError, RequestError, UnknownNameError
from shouldread.faults import read_fault

from tests.faults.boards import card

CARD = card()


def read(text: str) -> list[str]:
    return [str(fault) for fault in read_fault(text, CARD.netlist.values(), CARD.neighbours)]


@pytest.mark.parametrize("name", CARD.faults)
def test_every_listed_name_reads_back_as_itself(name: str) -> None:
    """What c.faults lists is what with_fault takes, in any case and with any blanks."""
    assert read(name) == [name]
    assert read(f"  {name.upper()} ".replace(" ", "  ")) == [name]


@pytest.mark.parametrize(
    ("typed", "canonical"),
    [
        ("r3 OPEN", ["R3 open"]),
        ("R3 drifted", ["R3 drifted high", "R3 drifted low"]),
        ("R3 drifted x4", ["R3 drifted x4"]),
        ("R3 drifted ×4", ["R3 drifted x4"]),
        ("R3 drifted x1,5", ["R3 drifted x1.5"]),
        ("R3 drifted x0.25", ["R3 drifted x0.25"]),
        ("R3 drifted high x4", ["R3 drifted x4"]),
        ("R3 drifted +40 %", ["R3 drifted x1.4"]),
        ("R3 drifted -20%", ["R3 drifted x0.8"]),
        ("R3 drifted 4k7", ["R3 drifted x4.7"]),
        ("R3 drifted 470 Ω", ["R3 drifted x0.47"]),
        ("C1 leaky 1k", ["C1 leaky 1k"]),
        ("C1 leaky 2.2 MΩ", ["C1 leaky 2.2M"]),
        ("12V absent", ["V12 absent"]),
        ("12v low 9", ["V12 low x0.75"]),
        ("Q1 C-E short", ["Q1 collector-emitter short"]),
        ("Q1 collector base short", ["Q1 base-collector short"]),
        ("M1 s-d short", ["M1 drain-source short"]),
        ("M1 d-g short", ["M1 gate-drain short"]),
        ("Q1.b joint open", ["Q1 base open"]),
        ("M1.3 joint open", ["M1 source open"]),
        ("R3.2 joint open", ["R3 open"]),
        ("X1.3 joint open", ["X1.FB joint open"]),
        ("x1.fb joint open", ["X1.FB joint open"]),
        ("X1.1-X1.2 bridged", ["X1.IN-X1.EN bridged"]),
        ("X1.OUT-C bridged", ["X1.OUT-C bridged"]),
        ("X1 out of tolerance x1.1", ["X1 out of tolerance x1.1"]),
        ("RF1 open + C1 short", ["RF1 open + C1 short"]),
        ("rf1 OPEN + c1 leaky 50", ["RF1 open + C1 leaky 50"]),
        ("R3 drifted + L1 open", ["R3 drifted high + L1 open", "R3 drifted low + L1 open"]),
    ],
)
def test_what_people_write(typed: str, canonical: list[str]) -> None:
    assert read(typed) == canonical


@pytest.mark.parametrize(
    ("typed", "kind", "told"),
    [
        ("R3 opne", UnknownNameError, "nearest: R3 open"),
        ("R33 open", UnknownNameError, "nearest: R3 open"),
        ("Q1 base short", UnknownNameError, "nearest: Q1 base-emitter short"),
        ("X9.1 joint open", UnknownNameError, "there is no fault 'X9.1 joint open'"),
        ("X1.9 joint open", UnknownNameError, "X1.GND joint open"),
        ("open", UnknownNameError, "there is no fault 'open'"),
        ("", UnknownNameError, "there is no fault ''"),
        ("C1 short 5", RequestError, "C1 short knows no degrees, so leave '5' out; with a figure there is C1 leaky"),
        ("R3 drifted low x4", RequestError, "a factor of 4 is the other way"),
        ("12V low x1.2", RequestError, "a factor of 1.2 is the other way"),
        ("R3 drifted x0", RequestError, "must be a figure above 0"),
        ("R3 drifted -120 %", RequestError, "must be a figure above 0"),
        ("R3 drifted much", QuantityError, "much"),
        ("R6 drifted", RequestError, "its value is known no better than 1 to 1M"),
        ("X1 out of tolerance 0.9 V", RequestError, r"as x1.1 or \+10 %"),
        ("L1 bridged", RequestError, "is something done to the board, not a fault: give it as a condition"),
    ],
)
def test_what_is_refused_says_what_to_write(typed: str, kind: type[KitError], told: str) -> None:
    with pytest.raises(kind, match=told):
        read(typed)


def test_an_unknown_fault_of_a_known_part_lists_what_that_part_can_have() -> None:
    with pytest.raises(UnknownNameError) as caught:
        read("C1 cracked")
    assert caught.value.known == ("C1 open", "C1 short", "C1 leaky", "C1 drifted high", "C1 drifted low")
    assert caught.value.value == "C1 cracked"


@given(st.floats(1.01, 1000))
def test_a_graded_fault_reads_back_as_it_is_written(factor: float) -> None:
    """Severity to four digits survives being written and read."""
    (fault,) = read_fault("R3 drifted", CARD.netlist.values())[:1]
    (again,) = read_fault(str(fault.with_severity(factor)), CARD.netlist.values())
    assert again.mode == "drifted high"
    assert again.severity == pytest.approx(factor, rel=1e-3)


@given(st.floats(1e-3, 1e8))
def test_a_leak_reads_back_in_ohms(ohms: float) -> None:
    (fault,) = read_fault("C1 leaky", CARD.netlist.values())
    (again,) = read_fault(str(fault.with_severity(ohms)), CARD.netlist.values())
    assert again.severity == pytest.approx(ohms, rel=1e-3)


@given(st.text(max_size=40))
def test_any_text_is_a_fault_or_a_kit_error(text: str) -> None:
    """Nothing typed brings anything but an error of the kit."""
    try:
        assert read(text)
    except KitError as error:
        assert str(error)
