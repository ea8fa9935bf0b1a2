"""Tracing at the desk: each line is in the case when it is answered, and taking back adds to the history."""

from pathlib import Path
from typing import Any

import pytest
from shouldread.casebook import Casebook
from shouldread.circuit import load_circuit
from shouldread.views.desk import Desk
from shouldread.views.drawer import Drawer

from tests.views.desks import desk_over, fresh_id


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "book.sqlite"


def screen(desk: Desk) -> dict[str, Any]:
    return dict(desk.screens.trace(lambda circuit: None))


def lines(desk: Desk) -> list[str]:
    return [row["text"] for row in screen(desk)["parts"]]


def test_every_line_is_on_the_disk_and_mistakes_stay_to_be_mended(path: Path) -> None:
    desk, say = desk_over(path)
    assert say("part", "R? from 12V to B1 47k").said == "R1: 47 kΩ, 12V to B1"
    answer = say("part", "R? from B1 to GND 10q")
    assert answer.ok and "write its value last" in answer.said
    assert lines(desk) == ["R1 from 12V to B1 47k", "R2 from B1 to GND 10q"]
    (case,) = Casebook(path)
    assert case.last("traced") == {"text": "R1 from 12V to B1 47k\nR2 from B1 to GND 10q", "name": ""}
    assert say("part", "R2 from B1 to GND 10k", line="1").ok
    assert [row["wrong"] for row in screen(desk)["parts"]] == ["", ""]


def test_a_repeated_message_adds_one_line(path: Path) -> None:
    desk, say = desk_over(path)
    uid = fresh_id()
    for _ in range(3):
        say("part", "R? from A to B 1k", uid=uid)
    assert lines(desk) == ["R1 from A to B 1k"]


def test_taking_back_keeps_the_history(path: Path) -> None:
    desk, say = desk_over(path)
    for line in ("R1 from A to B 1k", "R2 from B to GND 1k"):
        say("part", line)
    assert say("unpart", "0").said == "taken back: R1 from A to B 1k"
    assert lines(desk) == ["R2 from B to GND 1k"]
    last = str(screen(desk)["last"])
    assert say("untrace", last).ok and lines(desk) == ["R1 from A to B 1k", "R2 from B to GND 1k"]
    assert say("untrace", last).said == "taken back already"
    (case,) = Casebook(path)
    assert sum(event.kind == "traced" for event in case.events) == 3


def test_pasted_lines_are_taken_one_by_one(path: Path) -> None:
    desk, say = desk_over(path)
    assert say("part", "R1 from A to B 1k\n\nR? from B to GND ?\nV1 at A 5").ok
    assert [line.split()[0] for line in lines(desk)] == ["R1", "R2", "V1"]


def test_the_rail_sheet_feeds_the_stage(path: Path) -> None:
    desk, say = desk_over(path)
    say("rail", "nominal 12 ± 5 %", rail="12V")
    say("rail", "", rail="5V_AUX")
    say("part", "R1 from 12V to EN 47k\nR2 from 5V_AUX to EN 10k")
    state = screen(desk)
    assert "V12V 12V 0 12" in state["netlist"]
    assert state["questions"] == ["5V_AUX feeds this stage: how many volts? Type V5V_AUX at 5V_AUX 5"]
    say("supply", "", volts="5.1", limit="1", amps="0.1", limiting=False, fed="5V_AUX")
    assert screen(desk)["questions"] == [] and "V5V_AUX 5V_AUX 0 5.1" in screen(desk)["netlist"]


def test_netlist_and_words_are_one(path: Path) -> None:
    desk, say = desk_over(path)
    say("stage name", "divider")
    say("part", "V1 at A 12\nR1 from A to B 1k")
    text = str(screen(desk)["netlist"])
    assert say("netlist", text.replace("R1 A B 1k", "R1 A B 2k\nR2 B 0 2k")).ok
    assert lines(desk) == ["V1 at A 12", "R1 from A to B 2k", "R2 from B to GND 2k"]
    answer = say("netlist", text.replace("R1 A B 1k", "R1 A B x"))
    assert not answer.ok and "line" in answer.said
    assert lines(desk) == ["V1 at A 12", "R1 from A to B 2k", "R2 from B to GND 2k"]


def test_a_stage_goes_on_the_bench_and_back(path: Path) -> None:
    desk, say = desk_over(path)
    assert not say("use").ok and "no part" in say("use").said
    say("part", "V1 at A 12\nR1 from A to B 1k\nR2 from B to GND 1k")
    assert say("use").ok
    circuit = desk.kept.circuit
    assert circuit is not None and circuit.rest == "unknown" and circuit.parts == ("V1", "R1", "R2")
    assert load_circuit(circuit.text).netlist == circuit.netlist
    assert say("read", "B 6.0", screen="stage").ok
    other, tell = desk_over(path.with_name("other.sqlite"), "npn_inverter_enable")
    assert tell("retrace").ok and "Q1 npn c EN b B e GND" in lines(other)


def test_an_unsure_sort_is_settled(path: Path) -> None:
    desk, say = desk_over(path)
    say("part", "Q7 npn | npn prebiased c EN b B e GND")
    (row,) = screen(desk)["parts"]
    assert row["also"] == ["npn prebiased"]
    assert say("sort", "npn prebiased", line="0").ok
    (row,) = screen(desk)["parts"]
    assert row["also"] == [] and "npn prebiased with" in row["said"]


@pytest.mark.parametrize("number", ["", "x", "-1", "7", "99999999"])
def test_a_line_that_is_not_there(path: Path, number: str) -> None:
    _, say = desk_over(path)
    say("part", "R1 from A to B 1k")
    assert not say("unpart", number).ok


def test_a_part_more_moves_the_others_little(path: Path) -> None:
    """What was drawn stays where it was, as long as no more wires cross than in a fresh drawing."""
    desk, say = desk_over(path)
    drawer = Drawer(lambda: None, follows=True)
    say("part", "VA at 12V 12\nR1 from 12V to B 47k\nR2 from B to GND 10k\nQ1 npn c C b B e GND\nR3 from 12V to C 10k")
    one = drawer.drawing(desk.tracing.trace().circuit)
    say("part", "R4 from C to OUT 1k")
    two = drawer.drawing(desk.tracing.trace().circuit)
    assert one is not None and two is not None and two is not one

    def places(drawing: Any) -> dict[str, tuple[float, float]]:
        boxes = {box.part: box.box for box in drawing.boxes}
        x, y = boxes["Q1"][:2]
        return {name: (round(box[0] - x), round(box[1] - y)) for name, box in boxes.items()}

    before, after = places(one), places(two)
    assert sum(after[name] == place for name, place in before.items()) >= len(before) - 1
