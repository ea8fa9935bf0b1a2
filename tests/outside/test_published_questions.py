"""Published questions "these readings, which fault?": an accepted answer is named among the suspects that remain.

Questions, netlists and accepted answers in published_examples.yaml, each with its source (Socratic Electronics
question files, T. R. Kuphaldt).
"""

import re
from typing import Any

import pytest
import shouldread as sr

from tests.outside.published import Board, examples

ACCEPTED = {  # what the source accepts, in the kit's words
    "soc-01784": ("R2 open",),
    "soc-03262": ("R1 open",),
    "soc-01785": ("R1 short",),
    "soc-03586": ("R3 open", "RW67 open"),
    "soc-02343": ("Q1 collector-emitter short", "C1 short"),
    "soc-02344": ("Q1 collector open", "RREL open"),
    "soc-02661": ("Q1 collector-emitter short", "X1 stuck high"),
    "soc-03772": ("X1 stuck low", "D1 short", "R1 open"),
}
LEFT_OUT = {
    "soc-02660": "the printed 1 V at TP6 depends on the inside of the amplifier; the direction is checked as a fault row",
    "soc-03330": "no number is published, only a large positive reading",
    "soc-03331": "no number is published, only a large negative reading",
    "soc-03720": "readings of two states of a switch; its accepted faults are checked row by row",
    "soc-02551": "alternating voltages, which are no readings at rest; checked as fault rows",
}
QUESTIONS = {entry["id"]: entry for entry in examples() if "answer" in entry}


def typed(readings: dict[str, Any]) -> str:
    """``v(a)-v(b): 6`` as one would type it: ``a to b 6 V``."""
    rows = []
    for where, volts in readings.items():
        nodes = re.findall(r"v\((\w+)\)", where)
        rows.append(f"{' to '.join(nodes)} {volts} V")
    return "; ".join(rows)


@pytest.mark.parametrize("name", ACCEPTED)
def test_an_accepted_answer_is_named(name: str) -> None:
    entry = QUESTIONS[name]
    told = str(sr.diagnose(sr.load_circuit(Board(entry, None).netlist), typed(entry["readings"])))
    remain = told.partition("Unlikely:")[0]
    assert any(answer in remain for answer in ACCEPTED[name]), told


def test_every_question_is_asked_or_left_out_by_name() -> None:
    assert set(ACCEPTED) | set(LEFT_OUT) == set(QUESTIONS)
    assert not set(ACCEPTED) & set(LEFT_OUT)
