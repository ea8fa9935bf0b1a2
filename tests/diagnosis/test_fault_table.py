"""What a fault table says in words: readings in rows, silent faults by part, nothing told twice."""

import shouldread as sr
from shouldread.views.rich import html


def test_every_fault_is_told_once() -> None:
    """As a row, as one that moves a reading only when far gone, or as one that moves nothing."""
    told = sr.fault_table(sr.load_circuit("precharge_bleeder"))
    rows = [fault for fault in told.under if told.moved(fault)]
    assert sorted([*rows, *told.far_gone, *told.moves_nothing]) == sorted(told.under)
    assert "RB open" in told.moves_nothing  # common practice, no source: a bleeder is missed only after power-off
    assert told.notes[0] == "Moves a reading only when far gone: RP drifted high; RB drifted low"
    assert "RB open, drifted high" in str(told)


def test_a_board_is_told_in_lines_that_fit() -> None:
    told = sr.fault_table(sr.load_circuit("controller_card"))
    text = str(told)
    assert max(map(len, text.splitlines())) <= 118
    assert "12V_MAIN 0.0 V" in text and "12V_MAIN\N{NO-BREAK SPACE}0.0\N{NO-BREAK SPACE}V" in html(told)
    assert "12V_MAIN" in told.frame().columns
