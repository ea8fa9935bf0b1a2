"""Drawing hints: what each does, and what is said when one cannot be followed."""

import pytest
from shouldread.circuit import load_circuit
from shouldread.drawing import Drawing, lay_out, verify
from shouldread.errors import RequestError, UnknownNameError

from tests.drawing.boards import INVERTER, MODELS

TEXT = (
    "* input\nV1 VIN 0 12\nRF1 VIN A 10m\nC1 A 0 10u\nR1 A EN 100k\nR2 EN 0 10k\nM1 OUT G A A MP\nR3 A G 100k\n"
    "R4 G 0 10k\nRL OUT 0 50\n" + MODELS
)


def sorts(drawing: Drawing, node: str) -> set[str]:
    return {spot.sort for spot in drawing.spots_of(node)}


def drawn(**hints: object) -> Drawing:
    drawing = lay_out(load_circuit(TEXT), hints=hints)
    assert verify(drawing) == ()
    return drawing


def test_a_short_supply_is_a_wire_and_flags_makes_it_flags() -> None:
    assert sorts(drawn(), "VIN") == {"tag"}
    assert sorts(drawn(flags=["VIN"]), "VIN") == {"flag"}


def test_flags_for_a_busy_node() -> None:
    assert sorts(drawn(), "A") == {"wire"} and sorts(drawn(flags=["A"]), "A") == {"flag"}


def test_rails_by_name_or_with_volts() -> None:
    assert sorts(drawn(rails=["A"]), "A") == {"flag"}
    below = drawn(rails={"A": -5})
    flag = next(spot for spot in below.spots_of("A") if spot.sort == "flag")
    pins = [pin.y for box in below.boxes for pin in box.pins if pin.node == "A"]
    assert flag.y > min(pins)


def test_outputs_and_inputs_get_tags() -> None:
    drawing = drawn(outputs=["OUT"], inputs=["EN"])
    assert sorts(drawing, "OUT") == {"tag"} and sorts(drawing, "EN") == {"tag"}
    assert drawing.spots_of("EN")[0].x < drawing.spots_of("OUT")[0].x


def test_hidden_parts_are_left_out() -> None:
    drawing = drawn(hide=["RL", "c1"])
    assert {"RL", "C1"}.isdisjoint(box.part for box in drawing.boxes)


def test_orient_turns_a_part() -> None:
    for way, across in (("V", False), ("H", True)):
        drawing = drawn(orient={"R1": way})
        pins = next(box for box in drawing.boxes if box.part == "R1").pins
        assert (pins[0].y == pins[1].y) == across


def test_nolabel_leaves_a_spot() -> None:
    drawing = drawn(nolabel=["G"])
    assert [spot.room for spot in drawing.spots_of("G")] == [None]


def test_names_are_found_in_any_case() -> None:
    assert sorts(drawn(outputs=["out"]), "OUT") == {"tag"}


def test_hints_of_the_circuit_are_followed_and_can_be_replaced() -> None:
    circuit = load_circuit(
        '*: [hints]\n*: outputs = ["EN"]\n'.join(INVERTER.split("\n", 1)).replace("* inverter", "* inverter\n")
    )
    assert sorts(lay_out(circuit), "EN") == {"tag"}
    assert sorts(lay_out(circuit, hints={}), "EN") == {"wire"}


@pytest.mark.parametrize(
    ("hints", "said"),
    [
        ({"outptus": ["OUT"]}, "nearest: outputs"),
        ({"outputs": ["OTU"]}, "nearest: OUT"),
        ({"hide": ["RL1"]}, "nearest: RL"),
        ({"orient": {"R99": "V"}}, "'R99'"),
        ({"level": {"XX": 3}}, "'XX'"),
    ],
)
def test_a_name_there_is_not(hints: dict[str, object], said: str) -> None:
    with pytest.raises(UnknownNameError, match=said):
        lay_out(load_circuit(TEXT), hints=hints)


@pytest.mark.parametrize(
    ("hints", "said"),
    [
        ({"outputs": 3}, "list of names, not 3"),
        ({"level": ["OUT"]}, "maps nodes to numbers"),
        ({"level": {"OUT": "far"}}, "is a number, not 'far'"),
        ({"level": {"OUT": True}}, "is a number, not True"),
        ({"orient": {"R1": "left"}}, "V \\(standing\\) or H \\(lying\\)"),
        ({"orient": ["R1"]}, "maps parts to V or H"),
    ],
)
def test_a_value_of_the_wrong_sort(hints: dict[str, object], said: str) -> None:
    with pytest.raises(RequestError, match=said):
        lay_out(load_circuit(TEXT), hints=hints)
