"""Conditions: what was done to the board, as people write it, and what it does to the volts."""

import math

import pytest
import shouldread as sr
from shouldread.errors import KitError, RequestError, UnknownNameError
from shouldread.faults import condition_edits, read_conditions

from tests.faults.boards import card

BOARD = card()


def read(text: str) -> list[str]:
    return [str(c) for c in read_conditions(text, BOARD.netlist.values(), BOARD.nodes)]


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("l1 BRIDGED", ["L1 bridged"]),
        ("Q1.2 lifted", ["Q1.b lifted"]),
        ("C1 removed and R3 lifted", ["C1 removed", "R3 lifted"]),
        ("rail to gnd linked", ["RAIL to 0 linked"]),
        ("Q1.c to X1.EN linked", ["Q1.c to X1.EN linked"]),
        ("warm, after repair", ["warm", "after repair"]),
        ("X1 removed", ["X1 removed"]),
        ("L1 pressed", ["L1 pressed"]),
    ],
)
def test_what_people_write(typed: str, told: list[str]) -> None:
    assert read(typed) == told


@pytest.mark.parametrize(
    ("typed", "kind", "told"),
    [
        ("L9 bridged", UnknownNameError, "there is no part or pin 'L9'; nearest: L1"),
        ("Q1 bridged", RequestError, "Q1 has 3 pins: say which two, as Q1.c to Q1.b linked"),
        ("Q1 lifted", RequestError, "Q1 has 3 pins: say which one, as Q1.c lifted"),
        ("Q1.9 lifted", UnknownNameError, "Q1.9"),
        ("C1 removd", UnknownNameError, "nearest: C1 removed"),
        ("R3 lift", UnknownNameError, "nearest: R3 lifted"),
        ("RAIL to EIN linked", UnknownNameError, "there is no place 'EIN'; nearest: EN"),
    ],
)
def test_what_is_refused_says_what_to_write(typed: str, kind: type[KitError], told: str) -> None:
    with pytest.raises(kind, match=told):
        read(typed)


def test_free_words_change_no_circuit() -> None:
    (warm,) = read_conditions("warm", BOARD.netlist.values(), BOARD.nodes)
    assert condition_edits(warm, BOARD.netlist.values()) == ()


def test_a_wire_goes_from_pad_to_pad() -> None:
    """A bridge across an open coil brings the rail back: the wire does not follow the lifted leg."""
    assert sr.solve(BOARD, fault="L1 open").volts["RAIL"] < 1
    assert sr.solve(BOARD, fault="L1 open", condition="L1 bridged").volts["RAIL"] > 11.9


def test_a_removed_part_takes_its_short_along() -> None:
    """A shorted capacitor off the board: the rail is back."""
    assert sr.solve(BOARD, fault="C1 short").volts["RAIL"] < 4
    assert sr.solve(BOARD, fault="C1 short", condition="C1 removed").volts["RAIL"] > 11.9


def test_a_lifted_leg_takes_the_short_along() -> None:
    assert sr.solve(BOARD, fault="C1 short", condition="C1 lifted").volts["RAIL"] > 11.9


def test_a_lifted_base_turns_the_transistor_off() -> None:
    """Base off its node: the divider stands at its own value, 12 V x 1k/11k."""
    lifted = sr.solve(BOARD, condition="Q1.b lifted")
    assert lifted.volts["B"] == pytest.approx(12 / 11, rel=1e-2)
    assert math.isclose(lifted.amps["R3"], 0.0, abs_tol=1e-4)
