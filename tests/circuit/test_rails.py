"""The rail sheet as technicians type it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shouldread.circuit import Rails
from shouldread.errors import CircuitError, KitError, UnknownNameError

SHEET = """12V nominal 12 ± 5 %
5V nominal 5 +- 5 % from 12V made by U3 enabled by EN5
3V3 nominal 3.3 ± 5 % from 5V or 5VSB made by U4 enabled by 5V_PG and PWR_EN#
CORE
"""


def test_every_clause_of_a_line_is_read() -> None:
    rails = Rails.read(SHEET)
    assert [r.name for r in rails] == ["12V", "5V", "3V3", "CORE"]
    five, three = rails["5v"], rails["3V3"]
    assert (five.nominal.low, five.nominal.high) == pytest.approx((4.75, 5.25))
    assert (five.sources, five.maker, five.enables) == (("12V",), "U3", ("EN5",))
    assert three.sources == ("5V", "5VSB") and three.enables == ("5V_PG", "PWR_EN#")
    assert rails["CORE"].nominal is None and rails["CORE"].sources == ()


def test_what_is_written_back_reads_the_same() -> None:
    rails = Rails.read(SHEET)
    assert Rails.read(str(rails)) == rails


def test_clauses_may_stand_in_any_order_and_case() -> None:
    one = Rails.read("5V from 12V nominal 5 V MADE BY U3\n12V")
    assert one["5V"] == Rails.read("5V nominal 5 made by U3 from 12v\n12V")["5V"]
    assert [r.name for r in one] == ["12V", "5V"]


def test_start_up_order_is_derived_from_what_feeds_and_enables() -> None:
    rails = Rails.read("1V8 from 3V3 enabled by 5V\n3V3 from 5V\n5V from 12V\n12V\nAUX")
    assert rails.names == ("12V", "5V", "3V3", "1V8", "AUX")


def test_numbers_on_the_lines_decide_the_start_up_order() -> None:
    rails = Rails.read("A order 3\nB order 1\nC from A order 2\nD from C")
    assert rails.names == ("B", "C", "A", "D")


def test_rails_that_wait_for_each_other_keep_the_order_of_the_sheet() -> None:
    assert Rails.read("A from B\nB from A").names == ("A", "B")


def test_all_bad_lines_are_told_at_once() -> None:
    with pytest.raises(CircuitError) as caught:
        Rails.read("5V 5\n3V3 nominal five\n12V\n12v from A\nX from X\nY from A and B\nZ made by\nQ nominal 1..9")
    lines = [c.line for c in caught.value.complaints]
    assert lines == [1, 2, 4, 5, 6, 7, 8]
    said = str(caught.value)
    assert said.startswith(
        "the rail sheet: 7 mistakes\nline 1: 5V: '5' is not expected there; write for instance 5V nominal 5"
    )
    assert "line 6: Y: write from A or B" in said


@pytest.mark.parametrize(
    "line, told",
    [
        ("5V from 12V enable EN5", "5V: 'enable' is not expected there; write for instance enabled by EN5"),
        ("5V from 12V enables by EN5", "write for instance enabled by EN5"),
        ("5V nominal 5 from 12V mode by U3", "write for instance made by U3"),
        ("3V3 form 5V", "3V3: 'form' is not expected there; write for instance 3V3 from 5V"),
        ("3V3 from 5V U4", "3V3: write from A or B"),
        ("3V3 from 5V FRONT", "3V3: write from A or B"),
        ("3V3 zzz", "write for instance 5V nominal 5 ± 5 % from 12V made by U3 enabled by EN5"),
    ],
)
def test_a_misspelt_clause_is_told_what_it_was_to_be(line: str, told: str) -> None:
    with pytest.raises(CircuitError) as caught:
        Rails.read(line)
    assert str(caught.value).endswith(told)


def test_an_unknown_rail_is_told_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="nearest: 3V3"):
        Rails.read(SHEET)["3V"]


@given(st.text(max_size=120))
def test_no_text_raises_anything_but_a_kit_error(text: str) -> None:
    try:
        rails = Rails.read(text)
    except KitError:
        return
    assert {r.name for r in rails} == {r.name for r in rails.lines}
