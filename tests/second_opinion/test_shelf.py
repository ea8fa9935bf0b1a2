"""ngspice and the kit agree on everything on the shelf, at rest and over time."""

import math

import pytest
import shouldread as sr
from shouldread.reference import second_opinion, waveform

STATES = [(entry.name, state) for entry in sr.shelf() for state in sr.load_circuit(entry.name).states]
CHANGES = [
    (name, before, state)
    for name, state in STATES
    for before in ("off", *(s for n, s in STATES if n == name and s not in (state, "off")))
]


@pytest.mark.parametrize("name, state", STATES)
def test_both_engines_give_the_same_volts_and_amps(name: str, state: str) -> None:
    """1e-6 relative + 1 µV at every node, + 1 nA at every pin."""
    told = second_opinion(sr.load_circuit(name), state=state)
    assert told.agrees, (told.outcome, told.difference, told.amps_difference)


@pytest.mark.parametrize("name, before, state", CHANGES)
def test_what_moves_comes_to_rest_where_the_kit_says(name: str, before: str, state: str) -> None:
    """A transient of ngspice ends at one of the kit's resting points."""
    circuit = sr.load_circuit(name)
    told = waveform(circuit, state=state, after=before)
    assert told.outcome.word == "solved", told.outcome
    rest = sr.solve(circuit, state=state)
    answers = [rest.volts, *rest.outcome.others]
    apart = [max(abs(told.volts[n][-1] - v) for n, v in answer.items() if not math.isnan(v)) for answer in answers]
    assert min(apart) < 0.25, apart
