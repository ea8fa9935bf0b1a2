"""Whatever the reader accepts is drawn: nothing left out, nothing joined that is not, nothing illegible."""

import pytest
from shouldread.circuit import Circuit, load_circuit
from shouldread.drawing import Drawing, clashes, lay_out, verify

from tests.drawing.boards import DIVIDER, ODD, random_text


def complaints(circuit: Circuit, drawing: Drawing) -> list[str]:
    found = [*verify(drawing), *clashes(drawing)]
    found += [f"{part} is missing" for part in circuit.netlist if part not in {box.part for box in drawing.boxes}]
    used = {pin.node for box in drawing.boxes for pin in box.pins}
    return found + [f"{node} has no spot" for node in sorted(used) if not drawing.spots_of(node)]


@pytest.mark.parametrize("name", ODD)
def test_odd_circuits(name: str) -> None:
    circuit = load_circuit(ODD[name])
    assert complaints(circuit, lay_out(circuit)) == []


@pytest.mark.parametrize("name", ("an IC on its supplies", "a negative supply", "gains and a switch"))
def test_odd_circuits_polished(name: str) -> None:
    circuit = load_circuit(ODD[name])
    assert complaints(circuit, lay_out(circuit, effort="polished")) == []


@pytest.mark.parametrize("size", (3, 6, 9, 12, 16, 24))
@pytest.mark.parametrize("seed", range(4))
def test_random_circuits(seed: int, size: int) -> None:
    circuit = load_circuit(random_text(seed, size))
    assert complaints(circuit, lay_out(circuit)) == []


def test_a_random_circuit_polished() -> None:
    circuit = load_circuit(random_text(5, 8))
    assert complaints(circuit, lay_out(circuit, effort="polished")) == []


@pytest.mark.long
@pytest.mark.parametrize("size", (5, 10, 20, 30, 40))
@pytest.mark.parametrize("seed", range(100, 120))
def test_many_random_circuits(seed: int, size: int) -> None:
    circuit = load_circuit(random_text(seed, size))
    effort = "polished" if size <= 20 and seed % 4 == 0 else "first"
    assert complaints(circuit, lay_out(circuit, effort=effort)) == []


def test_a_circuit_typed_part_by_part_is_drawn_from_the_first_part_on() -> None:
    lines = ["* traced", "V1 VIN 0 12", "R1 VIN MID 10k", "R2 MID 0 4.7k", "C1 MID 0 10n", "R3 MID OUT 1k"]
    positions = None
    for count in range(2, len(lines) + 1):
        circuit = load_circuit("\n".join([*lines[:count], ".end", ""]))
        drawing = lay_out(circuit, positions=positions)
        positions = drawing.positions
        assert complaints(circuit, drawing) == []


def test_the_sheet_holds_all_its_things() -> None:
    drawing = lay_out(load_circuit(DIVIDER))
    for spot in drawing.spots:
        assert 0 < spot.x < drawing.width and 0 < spot.y < drawing.height
    for box in drawing.boxes:
        x0, y0, x1, y1 = box.box
        assert 0 <= x0 <= x1 <= drawing.width and 0 <= y0 <= y1 <= drawing.height
