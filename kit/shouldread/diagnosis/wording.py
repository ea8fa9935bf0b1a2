"""Words for what was found: ranks instead of figures, reasons as a technician gives them."""

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.cautions import caution_rule
from shouldread.diagnosis.estimate import Estimate
from shouldread.diagnosis.mind import Mind, Standing
from shouldread.diagnosis.next_probe import Ahead
from shouldread.diagnosis.taken import Taken
from shouldread.meter import SETTINGS
from shouldread.quantities import say

Array = NDArray[np.float64]

LIKELY, POSSIBLE = 0.2, 0.02  # shares from which a technician would call it likely, possible
FITS, AGAINST = 2.5, 4.0  # deviations within which a reading fits, beyond which it speaks against
_MOST = 3


def rank(share: float) -> str:
    """The word for a share of belief."""
    return "likely" if share >= LIKELY else "possible" if share >= POSSIBLE else "unlikely"


def reasons(mind: Mind, standing: Standing, values: Mapping[str, Estimate]) -> list[str]:
    """Why each hypothesis stands where it stands (H,): which readings it explains, which speak against it."""
    weighed = standing.weighed
    count = len(mind.board.hypotheses)
    share = weighed.cell_share + 1e-300
    owner = weighed.cells.region.owner
    mass = np.zeros(count)
    np.add.at(mass, owner, share)
    weight = (share / mass[owner])[:, None]
    taken = weighed.rows.taken
    mean = np.zeros((count, len(taken)))
    np.add.at(mean, owner, weight * weighed.lines.mean)
    second = np.zeros((count, len(taken)))
    lines = weighed.lines
    inside = lines.mean**2 + (lines.loads**2).sum(2) + lines.rise**2 / 12 + lines.loose
    np.add.at(second, owner, weight * inside)
    deviation = np.sqrt(np.maximum(second - mean**2, 0.0) + np.diagonal(weighed.noise))
    return [
        _reason(mind, standing, number, taken, mean[number], deviation[number], mean[0], values)
        for number in range(count)
    ]


def _reason(
    mind: Mind,
    standing: Standing,
    number: int,
    taken: Sequence[Taken],
    mean: Array,
    deviation: Array,
    healthy: Array,
    values: Mapping[str, Estimate],
) -> str:
    hypothesis = mind.board.hypotheses.all[number]
    fits, against = [], []
    for k, one in enumerate(taken):
        off = _off(one, float(mean[k])) / max(float(deviation[k]), 1e-12)
        moved = abs(float(mean[k] - healthy[k])) / max(float(deviation[k]), 1e-12)
        said = f"{_place(one)} (would read {_value(one, float(mean[k]))})"
        if off > AGAINST:
            against.append((off, said))
        elif off < FITS:
            fits.append((moved, said))
    seen = [str(o) for o in standing.observations if _about(o.place, hypothesis.parts)]
    parts = []
    if fits:
        fits.sort(key=lambda row: -row[0])
        parts.append("explains " + ", ".join(said for _, said in fits[:_MOST]))
    if against:
        against.sort(key=lambda row: -row[0])
        parts.append("against it: " + ", ".join(said for _, said in against[:_MOST]))
    if seen:
        parts.append("seen: " + ", ".join(dict.fromkeys(seen)))
    drifted = [values[p] for p in hypothesis.parts if p in values and "drifted" in hypothesis.name]
    parts += [f"{value}" for value in drifted]
    return "; ".join(parts) or "by how often this happens, nothing read speaks for or against it"


def _about(place: str, parts: Sequence[str]) -> bool:
    return place.partition(".")[0].casefold() in (p.casefold() for p in parts)


def _off(one: Taken, mean: float) -> float:
    if one.is_number:
        return abs(one.at - mean)
    return max(one.low - mean, mean - one.high, 0.0)


def _place(one: Taken) -> str:
    reading = one.readings[0]
    return (
        f"{reading.at} {reading.text}"
        if reading.setting == "volts"
        else f"{reading.at} {reading.setting} {reading.text}"
    )


def _value(one: Taken, mean: float) -> str:
    return display_words(one.scale.from_scale(mean), one.spot.setting)


def display_words(value: float, setting: str) -> str:
    """A value with three digits and its unit; small volts as a display rounds them."""
    unit = SETTINGS[setting].unit
    if math.isfinite(value) and unit == "V":
        value = round(value, 3) + 0.0
    return say(value, unit, 3)


def why_probe(mind: Mind, ahead: Ahead, names: Mapping[int, str]) -> str:
    """What each leading group would read there: ``12.0 V if L1 open; 0.0 V if RJ1 open``; alike ones together."""
    told: dict[str, list[str]] = {}
    for group, value in ahead.values:
        told.setdefault(display_words(value, ahead.offer.setting), []).append(names[group])
    if len(told) < 2:
        return "narrows what is left"
    rows = [f"{words} if {', '.join(some[:3])}{' or others' if len(some) > 3 else ''}" for words, some in told.items()]
    split = " / ".join(str(len(some)) for some in told.values())
    return f"splits the list {split}: " + "; ".join(rows[:4])


def split_by(mind: Mind, faults: Sequence[str]) -> str:
    """What kind of test tells apart what no offered reading does."""
    if len(faults) < 2:
        return ""
    hypotheses = [mind.board.hypotheses.all[mind.board.hypotheses.index[name]] for name in faults]
    parts = list(dict.fromkeys(p for h in hypotheses for p in h.parts))
    modes = " ".join(h.name for h in hypotheses)
    if len(parts) == 1:
        return f"look at {parts[0]} itself: joints under the microscope, or out of circuit"
    named = ", ".join(parts[:4]) + (" ..." if len(parts) > 4 else "")
    if "short" in modes or "leaky" in modes:
        return f"lift one leg at a time ({named}) and read again, or find the warm one with a limited supply"
    if "open" in modes:
        return f"bridge one at a time ({named}), {caution_rule('bridging').say}, and read again"
    return f"lift one leg at a time ({named}) and read the part alone"
