"""Circuits of the shelf whose rail sheet names a standard's limits keep them."""

import pytest
import shouldread as sr
from shouldread.circuit import Rails

NAMED = [
    (entry.name, rail.name)
    for entry in sr.shelf()
    for rail in Rails.read(str(sr.load_circuit(entry.name).facts.get("rails", ""))).lines
    if rail.limit is not None
]


@pytest.mark.parametrize(("name", "rail"), NAMED)
def test_a_good_board_keeps_the_limit_that_it_names(name: str, rail: str) -> None:
    """In its first state, within the standard's ends; the walk of its own rails finds nothing wrong there."""
    circuit = sr.load_circuit(name)
    limit = Rails.read(str(circuit.facts["rails"]))[rail].limit
    assert limit is not None
    volts = sr.solve(circuit).volts[circuit.node(rail)]
    assert limit.volts.low <= volts <= limit.volts.high
    assert not sr.walk_rails(str(circuit.facts["rails"]), f"{rail} {volts:.3f}").first_wrong


def test_the_shelf_names_feeds_of_cards_ports_machines_and_vehicles() -> None:
    named = {Rails.read(str(sr.load_circuit(n).facts["rails"]))[r].limit.name.split()[0] for n, r in NAMED}
    assert {"IEC", "USB", "ISO", "ATX"} <= named


@pytest.mark.parametrize(("name", "rail"), NAMED)
def test_a_repaired_board_is_held_to_the_limit_that_it_names(name: str, rail: str) -> None:
    """The hand-over sheet has the standard's ends and its name."""
    limit = Rails.read(str(sr.load_circuit(name).facts["rails"]))[rail].limit
    assert limit is not None
    line = next(c for c in sr.prove(sr.load_circuit(name)).checks if c.stage == "rails" and c.key == rail)
    assert (line.low, line.high) == (limit.volts.low, limit.volts.high) and str(limit) in line.source
