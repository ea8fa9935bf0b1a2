"""Every circuit on the shelf is drawn whole, right and legible."""

import pytest
from shouldread.circuit import load_circuit
from shouldread.drawing import Positions, clashes, crossings, lay_out, verify
from shouldread.drawing.kept import kept_positions

from tests.drawing.boards import FRAGMENTS, SHELF, drawn

SCREEN = 848  # CSS pixels of a notebook's output area beside the file browser at 1280, measured


@pytest.mark.parametrize("name", SHELF)
def test_the_lines_say_what_the_netlist_says(name: str) -> None:
    assert verify(drawn(name)[1]) == ()


@pytest.mark.parametrize("name", SHELF)
def test_no_word_meets_another_word_a_wire_or_a_part(name: str) -> None:
    assert clashes(drawn(name)[1]) == ()


@pytest.mark.parametrize("name", FRAGMENTS)
def test_no_wire_of_a_fragment_crosses_another(name: str) -> None:
    assert crossings(drawn(name)[1]) == 0


@pytest.mark.parametrize("name", SHELF)
def test_every_part_is_there_with_every_pin(name: str) -> None:
    circuit, drawing = drawn(name)
    boxes = {box.part: box for box in drawing.boxes}
    assert set(boxes) == set(circuit.netlist)
    for part in circuit.netlist.values():
        shown = {(pin.pin.casefold(), pin.node) for pin in boxes[part.name].pins}
        listed = {(pin.casefold(), node) for pin, node in zip(part.pins, part.nodes, strict=True)}
        assert shown <= listed
        left_out = {pin for pin, _ in listed} - {pin for pin, _ in shown}
        source = part.kind == "V" or (part.block is not None and part.block.name == "SUPPLY")
        assert not left_out or source or part.kind in "MS"  # a bulk tied to its source, a button's control


@pytest.mark.parametrize("name", SHELF)
def test_every_node_has_a_spot_and_room_for_its_name_and_reading(name: str) -> None:
    circuit, drawing = drawn(name)
    for node in circuit.nodes:
        spots = drawing.spots_of(node)
        if node == "0":
            assert all(spot.sort == "ground" for spot in spots)
            continue
        assert spots[0].room is not None, node
        x0, y0, x1, y1 = spots[0].room
        assert x1 - x0 >= 41 and y1 - y0 >= 20, node  # "-00.00 V" at 11 px, two lines
        assert x0 >= 0 and y0 >= 0 and x1 <= drawing.width and y1 <= drawing.height, node


@pytest.mark.parametrize("name", FRAGMENTS)
def test_a_fragment_of_twelve_parts_fits_the_screen_at_full_size(name: str) -> None:
    """Texts are 11 px at a scale of one, so a sheet no wider than the screen is legible as it is."""
    circuit, drawing = drawn(name)
    allowed = SCREEN if len(circuit.netlist) <= 12 else SCREEN * len(circuit.netlist) / 12
    assert drawing.width <= allowed


@pytest.mark.parametrize("name", [name for name in SHELF if name not in FRAGMENTS])
def test_a_board_is_a_sheet_and_no_strip(name: str) -> None:
    """Between upright and landscape, a little more than the 1.41 of a page (ISO 216) at most."""
    _, drawing = drawn(name)
    assert 0.7 <= drawing.width / drawing.height <= 1.7


def test_nearly_all_circuits_open_as_they_were_polished() -> None:
    kept = [name for name in SHELF if kept_positions(drawn(name)[1].positions.key) is not None]
    assert len(kept) >= 0.8 * len(SHELF), f"run python -m shouldread.drawing; not kept: {set(SHELF) - set(kept)}"


@pytest.mark.long
@pytest.mark.parametrize("name", SHELF)
def test_every_circuit_can_be_polished_afresh(name: str) -> None:
    drawing = lay_out(load_circuit(name), effort="polished", positions=Positions())
    assert verify(drawing) == () and clashes(drawing) == ()
    assert name not in FRAGMENTS or crossings(drawing) <= 1  # one search may miss what the best of four found
