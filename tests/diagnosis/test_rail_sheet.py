"""Rail sheets found from netlists: against the sheets that the boards' files declare, and against the solution."""

from functools import cache

import pytest
import shouldread as sr
from shouldread.circuit import Circuit, Rails
from shouldread.diagnosis import rails_of
from shouldread.quantities import say_spread

BOARDS = [entry.name for entry in sr.shelf() if entry.sort == "board"]
DECLARED = [entry.name for entry in sr.shelf() if sr.load_circuit(entry.name).facts.get("rails")]


@cache
def circuit(name: str) -> Circuit:
    return sr.load_circuit(name)


@pytest.mark.parametrize("name", DECLARED)
def test_it_finds_what_the_file_declares(name: str) -> None:
    """The file's own sheet was written by hand beside the netlist: each line is there, feed, maker and enables."""
    found = rails_of(circuit(name))
    missing = []
    for rail in Rails.read(str(circuit(name).facts["rails"])).lines:
        if rail.name not in found.names:
            missing.append(f"{rail.name} is not there")
            continue
        own = found[rail.name]
        if set(own.sources) != set(rail.sources) or own.maker != rail.maker or not set(rail.enables) <= {*own.enables}:
            missing.append(f"declared: {rail}; found: {own}")
    assert not missing, "\n".join(missing)


@pytest.mark.parametrize("name", BOARDS)
def test_nominals_are_what_the_healthy_board_has(name: str) -> None:
    sheet, solution = rails_of(circuit(name)), sr.solve(circuit(name))
    assert len(sheet) >= 6
    for rail in sheet:
        assert rail.nominal is not None, rail.name
        volts = solution.volts[rail.name]
        assert rail.nominal.nominal == pytest.approx(volts, rel=0.15), f"{rail.name}: {say_spread(rail.nominal, 'V')}"


@pytest.mark.parametrize("name", BOARDS)
def test_what_feeds_or_enables_comes_up_first(name: str) -> None:
    sheet = rails_of(circuit(name))
    place = {rail: k for k, rail in enumerate(sheet.names)}
    for rail in sheet:
        assert any(place[s] < place[rail.name] for s in rail.sources) or not rail.sources
        assert all(place[e] < place[rail.name] for e in rail.enables if e in place), str(rail)


def needs(sheet: Rails, gone: str) -> set[str]:
    """Rails that the sheet says cannot be there without one of its inputs."""
    lost = {gone}
    for rail in sheet:
        feeds = set(rail.sources)
        if (feeds and feeds <= lost) or lost & set(rail.enables):
            lost.add(rail.name)
    return lost


@pytest.mark.parametrize(
    "name, source, gone",
    [
        ("controller_card", "XAUX", "12V_AUX"),
        ("controller_card", "XMAIN", "12V_MAIN"),
        ("pump_driver", "X1", "24V"),
        ("sensor_gateway", "X1", "U_F"),
    ],
)
def test_a_feed_that_is_gone_takes_down_what_the_sheet_says(name: str, source: str, gone: str) -> None:
    """By the solution: what needs the feed is down, and all else stays as it was."""
    sheet = rails_of(circuit(name))
    healthy, ill = sr.solve(circuit(name)).volts, sr.solve(circuit(name), fault=f"{source} absent").volts
    down = {rail for rail in sheet.names if not abs(ill[rail]) > 0.5 * abs(healthy[rail])}  # a nan floats: down
    assert down == needs(sheet, gone)


def test_an_output_that_does_nothing_takes_down_what_it_feeds() -> None:
    """Every maker of every board with its output gone: its rail and all that needs it, and no other feed."""
    seen = 0
    for name in BOARDS:
        board, sheet = circuit(name), rails_of(circuit(name))
        for rail in sheet:
            fault = f"{rail.maker} no output"
            if rail.maker and fault in board.faults:
                seen += 1
                healthy, ill = sr.solve(board).volts, sr.solve(board, fault=fault).volts
                down = {r for r in sheet.names if not abs(ill[r]) > 0.5 * abs(healthy[r])}
                assert down == needs(sheet, rail.name), fault
    assert seen >= 9


def test_a_board_is_walked_without_a_typed_sheet() -> None:
    """One missing auxiliary feed: named first, with all that waits for it; its own volts named, none typed."""
    board = circuit("controller_card")
    ill = sr.solve(board, state="aux_missing").volts
    readings = "; ".join(f"{rail} {ill[rail]:.3f}" for rail in rails_of(board).names)
    walk = sr.walk_rails(board, readings)
    assert walk.first_wrong == "12V_AUX"
    assert set(walk.waiting) >= {"5V", "3V3", "1V8", "LOGIC", "3V3_RF"}
    assert "SENSOR" not in walk.waiting


@pytest.mark.parametrize("name", sr.shelf().names)
def test_every_circuit_has_a_sheet_that_reads_back(name: str) -> None:
    sheet = rails_of(circuit(name))
    assert Rails.read(str(sheet)).names == sheet.names
