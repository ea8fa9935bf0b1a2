"""The drawing as SVG: well formed, plain attributes, names escaped, readings and marks where they belong."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from shouldread.circuit import Trace, load_circuit
from shouldread.drawing import MARKS, Drawing, Text, lay_out, text_pixels
from shouldread.drawing.check import clashes, verify

from tests.drawing.boards import INVERTER

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = "<script>alert(1)</script>&\"'"


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    return lay_out(load_circuit(INVERTER))


def texts(root: ET.Element, sort: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for element in root.iter(SVG + "text"):
        if element.get("class") == f"draw-{sort}":
            found.setdefault(element.get("data-node") or element.get("data-part") or "", []).append(element.text or "")
    return found


def test_it_is_well_formed_and_measured(drawing: Drawing) -> None:
    root = ET.fromstring(drawing.to_svg())
    assert root.tag == SVG + "svg"
    assert float(root.get("width", 0)) == pytest.approx(drawing.width, abs=0.1)
    assert root.get("viewBox") == f"0 0 {root.get('width')} {root.get('height')}"


def test_nothing_depends_on_a_style_sheet(drawing: Drawing) -> None:
    root = ET.fromstring(drawing.to_svg())
    assert root.get("fill") == "none" and root.get("stroke") == "currentColor"
    assert not list(root.iter(SVG + "style"))
    for element in root.iter():
        assert "style" not in element.attrib
        if element.tag in (SVG + "circle", SVG + "polyline", SVG + "rect"):
            assert element.get("fill") in ("none", "currentColor")


def test_the_free_one_has_no_colour_and_the_plate_has_its_own(drawing: Drawing) -> None:
    assert "#" not in drawing.to_svg()
    plate = ET.fromstring(drawing.to_svg(theme_free=False))
    assert plate[0].tag == SVG + "rect" and plate[0].get("fill") == "#ffffff"
    assert "currentColor" not in (plate.get("stroke") or "") and plate.get("color") == plate.get("stroke")


def test_every_node_and_part_can_be_found(drawing: Drawing) -> None:
    root = ET.fromstring(drawing.to_svg())
    groups = [element for element in root.iter(SVG + "g") if element.get("class") == "draw-node"]
    assert [group.get("data-node") for group in groups] == [spot.node for spot in drawing.spots]
    assert {e.get("data-part") for e in root.iter() if e.get("data-part")} >= {box.part for box in drawing.boxes}


def test_readings_stand_at_their_node(drawing: Drawing) -> None:
    root = ET.fromstring(drawing.to_svg({"B": "0.664 V", "V3": "3.30 V"}))
    readings = texts(root, "reading")
    assert set(readings["B"]) == {"0.664 V"} and set(readings["V3"]) == {"3.30 V"}
    assert set(readings["EN"]) == {""}


def test_every_text_keeps_to_its_room(drawing: Drawing) -> None:
    root = ET.fromstring(drawing.to_svg({spot.node: "-1234.567 mV and more" for spot in drawing.spots}))
    rooms = {
        thing.node: thing.width * 12 for thing in drawing.things if isinstance(thing, Text) and thing.sort == "reading"
    }
    for element in root.iter(SVG + "text"):
        if element.get("class") == "draw-reading":
            assert float(element.get("textLength", 0)) <= rooms[element.get("data-node") or ""] + 0.1
        elif element.text:
            bold = element.get("font-weight") == "bold"
            assert float(element.get("textLength", 0)) == pytest.approx(text_pixels(element.text, bold), abs=0.06)


def test_what_callers_and_names_say_is_text_and_nothing_else(drawing: Drawing) -> None:
    named = replace(
        drawing,
        things=tuple(replace(thing, node=HOSTILE) if thing.node == "B" else thing for thing in drawing.things),
        spots=tuple(replace(spot, node=HOSTILE) if spot.node == "B" else spot for spot in drawing.spots),
    )
    svg = named.to_svg({"EN": HOSTILE, HOSTILE: HOSTILE}, {HOSTILE: HOSTILE, "EN": "too low"})
    root = ET.fromstring(svg)
    assert "<script" not in svg
    assert not list(root.iter(SVG + "script"))
    assert texts(root, "reading")["EN"] == [HOSTILE]


@pytest.mark.parametrize("mark", MARKS)
def test_a_mark_has_a_shape_and_words(drawing: Drawing, mark: str) -> None:
    root = ET.fromstring(drawing.to_svg(marks={"EN": mark}))
    groups = [g for g in root.iter(SVG + "g") if g.get("data-node") == "EN"]
    assert groups and all(g.get("data-mark") == mark for g in groups)
    assert {g.find(SVG + "path").get("d") for g in groups} == {MARKS[mark]}  # type: ignore[union-attr]
    assert {g.findtext(SVG + "title") for g in groups} == {f"EN: {mark}"}
    assert all(g.find(SVG + "path") is None for g in root.iter(SVG + "g") if g.get("data-node") != "EN")


def test_marks_differ_by_shape() -> None:
    assert len(set(MARKS.values())) == len(MARKS)


def test_the_tree_is_the_same_drawing(drawing: Drawing) -> None:
    def count(element: object) -> int:
        assert isinstance(element, list)
        children = element[2] if len(element) > 2 and isinstance(element[2], list) else []
        return 1 + sum(count(child) for child in children)

    assert count(drawing.to_tree()) == len(list(ET.fromstring(drawing.to_svg()).iter()))


def test_a_drawing_is_a_few_ten_kilobytes(drawing: Drawing) -> None:
    assert len(drawing.to_svg()) < 40_000


UNSURE = """V12 at VIN 12
R1 from VIN to B? 47k
R2 from B to GND 10k
Q1 npn
Q1.b is B
Q1.e is GND
Q1.c is EN
R3 from VIN to EN 10k
D1 from EN? to GND zener 5V1
"""


def test_an_end_traced_as_unsure_bears_a_question_mark() -> None:
    """Beside the lead of that pin and of no other, in words and not by colour; it strikes nothing."""
    circuit = Trace.read(UNSURE).circuit
    assert circuit is not None
    drawing = lay_out(circuit, effort="polished")
    marks = [thing for thing in drawing.things if isinstance(thing, Text) and thing.text == "?"]
    assert sorted(mark.part for mark in marks) == ["D1", "R1"]
    for mark in marks:
        pins = next(box.pins for box in drawing.boxes if box.part == mark.part)
        pin = min(pins, key=lambda pin: abs(pin.x - mark.x) + abs(pin.y - mark.y))
        assert pin.node == {"R1": "B", "D1": "EN"}[mark.part]
    assert verify(drawing) == () and clashes(drawing) == ()


@pytest.mark.parametrize("name", ["controller_card", "pump_driver"])
def test_every_pin_of_a_board_may_be_unsure(name: str) -> None:
    """Two pins of each part, ICs, transistors and diodes among them: each has its mark, all words stay legible."""
    circuit = load_circuit(name)
    parts = {k: replace(p, facts={**p.facts, "unsure": list(p.pins[:2])}) for k, p in circuit.netlist.items()}
    drawing = lay_out(replace(circuit, netlist=parts))
    tags = {box.part for box in drawing.boxes if len(box.pins) == 1}
    marks = [thing.part for thing in drawing.things if isinstance(thing, Text) and thing.text == "?"]
    assert sorted(marks) == sorted(2 * [box.part for box in drawing.boxes if box.part not in tags])
    assert verify(drawing) == () and clashes(drawing) == ()
