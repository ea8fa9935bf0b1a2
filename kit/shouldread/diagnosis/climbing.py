"""Ohms that keep climbing: a word, not a number. Which hypotheses let a capacitor charge for longer than one waits."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.lanes import Lanes, Meters
from shouldread.diagnosis.panel import Panels
from shouldread.diagnosis.scale import Scale
from shouldread.meter import Range, Reading, leads, pads

Array = NDArray[np.float64]
Pair = tuple[str, str]

PATIENCE = 3.0  # seconds a technician waits for ohms to settle
LEFT = 0.01  # of the settled volts still to come, above which the display is seen to climb
SEEN = 0.9  # chance of saying so when it climbs (own judgement)
MISTAKEN = 0.05  # chance of saying so when it does not (own judgement)
UNKNOWN = 0.3  # the same under none of these
_AT = (0.1, 0.5, 0.9)  # of every axis


def climbing_log(panels: Panels, readings: Sequence[Reading]) -> tuple[Array, float]:
    """Log chance of all ``rising`` readings under each hypothesis (H,), and under none of these."""
    count = len(panels.board.hypotheses)
    out = np.zeros(count)
    told = [r for r in readings if r.form == "rising"]
    for reading in told:
        for number in range(count):
            share = _climbs(panels, number, reading)
            out[number] += math.log(share * SEEN + (1 - share) * MISTAKEN)
    return out, len(told) * math.log(UNKNOWN)


def _climbs(panels: Panels, number: int, reading: Reading) -> float:
    """Share of a hypothesis's points at which the display climbs and goes past the figure that was seen."""
    board = panels.board
    context = board.context(reading.state, reading.conditions)
    pair = pads(board.circuit_in(context), leads(board.circuit, reading.place, reading.to))
    lanes = board.lanes(number, context)
    points = np.array([[at] * len(board.variables.axes) for at in (_AT if lanes.axes(number) else _AT[1:2])])
    rows = board.meter.ranges(reading.setting)
    past = reading.value if math.isfinite(reading.value) else 0.0
    hits = 0
    for slots in lanes.slots(np.full(len(points), number), points):
        within: Range = next((r for r in rows if r.shows(past)), rows[-1]) if past > 0 else rows[len(rows) // 2]
        scale = Scale(board.meter, reading.setting, within)
        hits += _climbs_at(lanes, number, pair, slots, scale, past)
    return hits / len(points)


def _climbs_at(lanes: Lanes, number: int, pair: Pair, slots: Array, scale: Scale, past: float) -> bool:
    volts, ohms = scale.source
    solved = lanes.metered(Meters.alike(pair, ohms, volts, 1), np.array([number]), slots[None])
    if solved.status[0] != 0:
        return False
    settled = float(solved.volts([pair])[0, 0])
    caps = [(p.nodes[0], p.nodes[1], p.value.nominal) for p in lanes.network.flat.parts if p.kind == "C" and p.value]
    if settled <= 1e-3 * volts or not caps or scale.from_scale(settled) <= past:
        return False
    across = solved.volts([(a, b) for a, b, _ in caps])[0]
    stored = sum(farads * v * v for (_, _, farads), v in zip(caps, across, strict=True))
    # first moment of the step response (Elmore 1948, J. Appl. Phys. 19:55), exact for a resistive net
    seconds = stored / (settled * volts / ohms)
    return seconds > 0 and math.exp(-PATIENCE / seconds) > LEFT
