"""Published worked examples, solved by the kit's own engine.

The source of each is in published_examples.yaml beside its netlist: the Socratic Electronics question files and
Lessons In Electric Circuits (T. R. Kuphaldt), design sections of regulator data sheets, one textbook companion.
"""

import math
import re

import pytest
import shouldread as sr

from tests.outside.published import Board, boards, evaluated, examples, holds

CASES = list(boards("op"))
PINS = {"ib": "b", "ic": "c", "ie": "e", "id": "d"}


def number(board: Board, expression: str) -> float:
    """What the expression comes to on this board; a floating node reads what a 10 megohm meter shows there."""
    circuit = sr.load_circuit(board.netlist)
    faults, values = board.edits()
    if values:
        circuit = circuit.with_values(values)
    fault = " + ".join(faults) or None
    solution = sr.solve(circuit, fault=fault)

    def volts(node: str) -> float:
        if node == "0":
            return 0.0
        name = circuit.node(node)
        direct = solution.volts[name]
        return sr.solve(circuit, fault=fault, meter_at=name).volts[name] if math.isnan(direct) else direct

    def amps(part: str, what: str) -> float:
        name = circuit.part(part).name
        return solution.amps[name] if what == "i" else solution.pin_amps[f"{name}.{PINS[what]}"]

    return evaluated(expression, volts, amps)


def test_the_collection_is_whole() -> None:
    assert len(examples()) == 75
    expressions = [e["id"] for e in examples() if re.search(r"(?m)^B", e["netlist"])]
    assert expressions == [e["id"] for e in examples() if "rewritten" in e] and len(expressions) == 6
    assert len(CASES) > 170


@pytest.mark.parametrize("board", CASES, ids=lambda b: b.name.replace(" ", "_"))
def test_the_engine_gives_the_published_answer(board: Board) -> None:
    healthy = Board(board.entry, None)
    for expression, expected in board.expectations.items():
        if expression.startswith("ac:"):
            continue  # an alternating voltage: checked with the waveforms
        state = {"state": (board.fault or {}).get("state")}
        base = Board(board.entry, state) if board.fault and state["state"] else healthy
        found, good = number(board, expression), number(base, expression)
        assert holds(found, expected, good), f"{expression} = {found:.6g} ({board.source}): {dict(expected)}"
