"""The checks themselves: a drawing that was tampered with is found out."""

from dataclasses import replace

import pytest
from shouldread.circuit import load_circuit
from shouldread.drawing import Drawing, Line, Ring, Text, Thing, clashes, crossings, lay_out, verify

from tests.drawing.boards import INVERTER


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    return lay_out(load_circuit(INVERTER), effort="polished")


def with_things(drawing: Drawing, things: list[Thing]) -> Drawing:
    return replace(drawing, things=tuple(things))


def test_it_starts_clean(drawing: Drawing) -> None:
    assert verify(drawing) == () and clashes(drawing) == () and crossings(drawing) == 0


def test_each_missing_wire_is_an_open_node(drawing: Drawing) -> None:
    wires = [thing for thing in drawing.things if isinstance(thing, Line) and thing.sort == "wire"]
    assert len(wires) > 4
    for wire in wires:
        without = with_things(drawing, [thing for thing in drawing.things if thing is not wire])
        assert any(wire.node in line and "not joined" in line for line in verify(without)), wire


def test_each_missing_stem_is_an_open_pin(drawing: Drawing) -> None:
    for stem in [thing for thing in drawing.things if isinstance(thing, Line) and thing.sort == "stem"]:
        without = with_things(drawing, [thing for thing in drawing.things if thing is not stem])
        assert verify(without) != () or len(drawing.spots_of(stem.node)) == 1, stem


def test_a_wire_between_two_nodes_is_a_short(drawing: Drawing) -> None:
    pins = {pin.node: (pin.x, pin.y) for box in drawing.boxes for pin in box.pins}
    (x0, y0), (x1, y1) = pins["B"], pins["EN"]
    bridge = Line(((x0, y0), (x0, y1), (x1, y1)), "wire", "", "B")
    assert any("joined to" in line for line in verify(with_things(drawing, [*drawing.things, bridge])))


def test_a_pin_that_hangs_on_another_node_is_found(drawing: Drawing) -> None:
    box = next(box for box in drawing.boxes if box.part == "R1")
    swapped = replace(box, pins=(replace(box.pins[0], node="EN"), *box.pins[1:]))
    boxes = tuple(swapped if one is box else one for one in drawing.boxes)
    assert verify(replace(drawing, boxes=boxes)) != ()


def test_a_branch_without_its_dot_is_found(drawing: Drawing) -> None:
    dots = [thing for thing in drawing.things if isinstance(thing, Ring) and thing.sort == "dot"]
    for dot in dots:
        without = with_things(drawing, [thing for thing in drawing.things if thing is not dot])
        assert any("bears no dot" in line for line in verify(without))


def test_a_crossing_is_counted_and_must_bear_no_dot(drawing: Drawing) -> None:
    cross = [Line(((-60, 5), (-20, 5)), "wire"), Line(((-40, -30), (-40, 30)), "wire")]
    crossed = with_things(drawing, [*drawing.things, *cross])
    assert crossings(crossed) == 1 and verify(crossed) == ()
    dotted = with_things(drawing, [*crossed.things, Ring(-40, 5, 0.22, "dot")])
    assert any("only cross" in line for line in verify(dotted))


def test_words_pushed_onto_something_are_found(drawing: Drawing) -> None:
    words = [thing for thing in drawing.things if isinstance(thing, Text) and thing.text]
    spot = drawing.boxes[2].box
    for word in words:
        if word.part == drawing.boxes[2].part:
            continue
        moved = replace(word, x=(spot[0] + spot[2]) / 2, y=(spot[1] + spot[3]) / 2, anchor="middle")
        pushed = with_things(drawing, [moved if thing is word else thing for thing in drawing.things])
        assert clashes(pushed) != (), word


def test_a_reading_counts_with_all_its_room(drawing: Drawing) -> None:
    reading = next(thing for thing in drawing.things if isinstance(thing, Text) and thing.sort == "reading")
    below = replace(reading, text="x", sort="part", node="", part="", x=reading.x + 20 * (reading.anchor == "start"))
    assert clashes(with_things(drawing, [*drawing.things, below])) != ()
