"""With nothing fed nothing oscillates: ohms and diode have a reading on every range, under every fault, at every node.

A meter's source alone feeds a cold board, through its own resistance, and no block of models/ makes energy of its own:
what settles for good is all that there is (Tellegen's theorem: what the source gives, resistances and junctions take).
"""

import numpy as np
import pytest
import shouldread as sr
from shouldread.circuit import Circuit
from shouldread.diagnosis import expect
from shouldread.diagnosis.expected import Point
from shouldread.diagnosis.panel import Panels
from shouldread.meter import measure

METERS = ("cheap", "handheld", "bench")  # the first drives junctions hardest
ENDS = (0.5, 0.02, 0.98)  # typical parts, and all tolerances at one end or the other
SORTS = {entry.name: entry.sort for entry in sr.shelf()}


def without_answer(panels: Panels, circuit: Circuit, setting: str, points: dict[str, Point]) -> list[str]:
    """Where the solver finds no steady state, by fault, node and range."""
    numbers = [0, *(panels.board.number_of(f) for f in circuit.single_faults)]
    at = np.repeat(np.array(ENDS)[:, None], len(panels.board.variables.axes), 1)
    lost = []
    for name, point in points.items():
        for within in panels.board.meter.ranges(setting):
            panel, _ = panels.holding(point.context, point.scale(panels, within), point.pair)
            still = panel.predicted(np.repeat(numbers, len(at)), np.tile(at, (len(numbers), 1))).told
            for number in np.repeat(numbers, len(at))[~still].tolist():
                lost.append(f"{panels.board.hypothesis(number).name}: {name}, {setting} up to {within.top:g}")
    return lost


@pytest.mark.parametrize("setting", ["ohms", "diode"])
@pytest.mark.parametrize(
    ("name", "meter"),
    [
        pytest.param(name, meter, marks=[pytest.mark.long] * (sort == "board" or meter != METERS[0]))
        for name, sort in SORTS.items()
        for meter in METERS
    ],
)
def test_ohms_and_diode_have_a_reading_everywhere(name: str, meter: str, setting: str) -> None:
    circuit = sr.load_circuit(name)
    told = expect(circuit, setting=setting, meter=meter)
    points = {at: told[at].point for at in told}
    lost = [
        row
        for panels in dict.fromkeys((told.known, told.whole))
        for row in without_answer(panels, circuit, setting, points)
    ]
    assert not lost, "\n".join(lost[:20])


def test_a_led_string_with_a_short_diode_reads_steadily_on_every_meter() -> None:
    """It once read as pulsing on low ohms ranges: the whole display now, not its source alone."""
    circuit = sr.load_circuit("led_string_sink")
    for meter in METERS:
        for node in circuit.nodes[1:]:
            for setting in ("ohms", "diode"):
                shown = measure(circuit, node, setting=setting, fault="D1 short", meter=meter)
                assert shown.text not in ("pulsing", "unknown"), (node, meter, setting)


def test_a_cold_p_channel_reads_on_every_range() -> None:
    """A node behind its bulk junction alone: less flows than a jump of that law would be, and nothing settled there."""
    circuit = sr.load_circuit("pump_driver")
    told = expect(circuit, setting="ohms", meter="cheap")
    points = {"A_R": told["A_R"].point}
    assert not without_answer(told.known, circuit, "ohms", points)
