"""What a technician expects of a schematic: rails on top, ground below, signal from left to right.

Common practice; IEC 61082-1 (from memory) asks for the same directions of flow.
"""

import pytest
from shouldread.circuit import load_circuit
from shouldread.drawing import Drawing, PartBox, lay_out
from shouldread.drawing.sense import read_sense
from shouldread.drawing.sheet import read_sheet
from shouldread.drawing.supplies import settle_supplies, with_tags

from tests.drawing.boards import INVERTER, MODELS, SHELF, drawn


def box(drawing: Drawing, part: str) -> PartBox:
    return next(box for box in drawing.boxes if box.part == part)


def middle(drawing: Drawing, part: str) -> tuple[float, float]:
    x0, y0, x1, y1 = box(drawing, part).box
    return (x0 + x1) / 2, (y0 + y1) / 2


def sense_of(text: str):  # type: ignore[no-untyped-def]
    return read_sense(with_tags(settle_supplies(read_sheet(load_circuit(text)))))


@pytest.mark.parametrize("name", SHELF)
def test_a_standing_part_between_supply_and_ground_has_the_supply_on_top(name: str) -> None:
    circuit, drawing = drawn(name)
    fed = {p.nodes[0] for p in circuit.netlist.values() if p.kind == "V" and p.nodes[1] == "0" and p.value}
    for part in drawing.boxes:
        pins = {pin.node: pin.y for pin in part.pins}
        for node in fed & set(pins):
            volts = next(p.value.nominal for p in circuit.netlist.values() if p.kind == "V" and p.nodes[0] == node)
            if "0" in pins and len(part.pins) == 2 and volts > 0:
                assert pins[node] < pins["0"], part.part


@pytest.mark.parametrize("name", SHELF)
def test_ground_signs_hang_below_what_they_ground(name: str) -> None:
    _, drawing = drawn(name)
    pins = [(pin.x, pin.y) for part in drawing.boxes for pin in part.pins if pin.node == "0"]
    signs = [spot for spot in drawing.spots if spot.sort == "ground"]
    assert all(any(spot.y > y for _, y in pins) for spot in signs)
    assert len(signs) == len([1 for part in drawing.boxes for pin in part.pins if pin.node == "0"])


def test_the_signal_goes_from_left_to_right() -> None:
    drawing = lay_out(load_circuit(INVERTER), effort="polished")
    order = [middle(drawing, part)[0] for part in ("VIN", "R1", "Q1")]
    assert order == sorted(order)
    assert middle(drawing, "R3")[1] < middle(drawing, "Q1")[1] < drawing.spots_of("0")[0].y


def test_a_base_resistor_lies_and_a_divider_stands() -> None:
    drawing = lay_out(load_circuit(INVERTER), effort="polished")
    lying = {pin.y for pin in box(drawing, "R1").pins}
    standing = {pin.x for pin in box(drawing, "R2").pins}
    assert len(lying) == 1 and len(standing) == 1


def test_feedback_dividers_stand() -> None:
    sense = sense_of(
        "* ldo\nV1 VIN 0 5\nX1 VIN VIN FB VOUT 0 REGULATOR\nR1 VOUT FB 31.6k\nR2 FB 0 10k\nRL VOUT 0 33\n.end\n"
    )
    assert "R1" in sense.standing


def test_what_lies_in_the_way_of_the_current() -> None:
    sense = sense_of("* filter\nV1 VIN 0 12\nR1 VIN A 10m\nL1 A B 10u\nC1 B 0 10u\nD1 VIN A DS\nR2 A C 10k\n" + MODELS)
    assert {"R1", "L1", "D1"} <= sense.lying and "C1" not in sense.lying and "R2" not in sense.lying


def test_levels_grow_along_the_signal() -> None:
    level = sense_of(INVERTER).level
    assert level["IN"] < level["B"] < level["EN"]


def test_heights_follow_the_potentials() -> None:
    height = sense_of(INVERTER).height
    assert height["0"] == 0 and height["V3"] == 1 and 0 < height["EN"] < 1


def test_a_supply_made_on_the_sheet_lies_behind_its_maker() -> None:
    circuit = load_circuit("controller_card")
    sense = read_sense(with_tags(settle_supplies(read_sheet(circuit))))
    assert sense.level["12V_MAIN"] < sense.level["5V"] < sense.level["3V3"]
