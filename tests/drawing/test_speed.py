"""A first picture is there before one has looked up. Bars are wide: a busy machine is no reason to fail."""

import time

import pytest
from shouldread.circuit import load_circuit
from shouldread.drawing import Positions, lay_out

from tests.drawing.boards import INVERTER


def seconds(text: str, **how: object) -> float:
    circuit = load_circuit(text)
    lay_out(circuit, positions=Positions())
    start = time.process_time()
    lay_out(circuit, **({"positions": Positions()} | how))  # type: ignore[arg-type]
    return time.process_time() - start


def test_a_board_of_sixty_parts_is_drawn_at_once() -> None:
    assert seconds("controller_card") < 1.5  # 0.3 s where nothing else runs


def test_a_fragment_is_polished_in_seconds() -> None:
    assert seconds(INVERTER, effort="polished") < 8.0  # 1 s where nothing else runs


@pytest.mark.long
def test_a_board_of_sixty_parts_is_polished_while_one_reads_it() -> None:
    assert seconds("controller_card", effort="polished") < 60.0  # 12 s where nothing else runs
