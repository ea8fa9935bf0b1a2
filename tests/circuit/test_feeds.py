"""What feeds a circuit, whether a source or a bench supply: its volts, how unsure they are, and its absence."""

import pytest
import shouldread as sr
from shouldread.circuit import fed_in, feed_of
from shouldread.reference import waveform
from shouldread.solve import Network

BOARD = """* lamp
*: [parts]
*: X1 = {{ tolerance = "{}" }}
*: [states]
*: run = {{}}
*: gone = {{ X1 = "absent" }}
X1 IN 0 SUPPLY vset=12 ilim=1
R1 IN OUT 10
C1 OUT 0 10u
RL OUT 0 1k
"""


def test_a_supply_is_as_unsure_as_its_file_says() -> None:
    """± 8 % typed on the part, else the model's own; both are the volts that the solver varies."""
    typed, plain = (
        sr.load_circuit(BOARD.format("8 %")),
        sr.load_circuit(BOARD.replace("*: X1 = {{ tolerance", "*: C1 = {{ tolerance").format("8 %")),
    )
    for circuit, half in ((typed, 0.08), (plain, 0.01)):
        volts = feed_of(circuit.part("X1"))
        assert volts is not None and volts.nominal == 12
        assert (volts.low, volts.high) == (pytest.approx(12 * (1 - half)), pytest.approx(12 * (1 + half)))
        spread = next(p.spread for p in Network(circuit).params if p.key.startswith("X1.V1"))
        assert (spread.high - spread.low) / spread.nominal == pytest.approx(2 * half)


def test_a_supply_taken_away_feeds_nothing() -> None:
    circuit = sr.load_circuit(BOARD.format("8 %"))
    assert sr.solve(circuit).volts["OUT"] == pytest.approx(12 * 1000 / 1010, abs=0.01)
    assert sr.solve(circuit, state="gone").volts["OUT"] == pytest.approx(0, abs=1e-6)
    assert [fed_in(circuit.part("X1"), state) for state in circuit.state_table.values()] == [12, 0]


def test_a_supply_taken_away_lets_the_capacitor_run_down() -> None:
    """RC of 1 kΩ and 10 µF: 36.8 % are left after 10 ms (textbook exponential)."""
    told = waveform(sr.load_circuit(BOARD.format("8 %")), state="gone", after="run", seconds=0.05)
    assert told.outcome.word == "solved", told.outcome
    assert told.at("OUT", 0.01 + told.seconds[-1] / 1000) == pytest.approx(11.88 * 0.368, rel=0.02)
    back = waveform(sr.load_circuit(BOARD.format("8 %")), after="gone", seconds=0.05)
    assert back.volts["OUT"][-1] == pytest.approx(11.88, abs=0.02)


def test_what_cannot_be_said_of_a_block_is_told() -> None:
    with pytest.raises(sr.KitError, match='write "absent"'):
        sr.load_circuit(BOARD.format("8 %").replace('X1 = "absent"', "X1 = 3"))
    amplifier = BOARD.format("8 %").replace(
        "X1 IN 0 SUPPLY vset=12 ilim=1", "V1 IN 0 12\nX1 IN OUT OUT IN 0 AMPLIFIER"
    )
    with pytest.raises(sr.KitError, match="no value of its own"):
        sr.load_circuit(amplifier.replace('X1 = "absent"', 'V1 = "absent"'))
