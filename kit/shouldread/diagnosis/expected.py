"""Bands: what a display may show at a place, by tolerances, how bad a fault is, the meter and the unknown rest."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.band import Band
from shouldread.diagnosis.board import Context
from shouldread.diagnosis.cells import Cells
from shouldread.diagnosis.mixture import Mixture
from shouldread.diagnosis.panel import Panels
from shouldread.diagnosis.scale import DEAD_VOLTS, NOTHING, Scale
from shouldread.meter import Range

Array = NDArray[np.float64]
Pair = tuple[str, str]

ENDS = (0.005, 0.995)
_LEAST_OHMS = 1e-2
_STEPS = 50


@dataclass(frozen=True, slots=True)
class Point:
    """What is read: a pair of places on a setting, in a context."""

    pair: Pair
    setting: str
    context: Context

    def scale(self, panels: Panels, within: Range | None = None) -> Scale:
        """The scale it is read on."""
        return Scale(panels.board.meter, self.setting, within, across=self.setting == "volts" and "0" not in self.pair)


def band_of(panels: Panels, point: Point, numbers: Sequence[int], weights: Sequence[float]) -> Band:
    """The band of one hypothesis, or of several weighed (``R3 drifted`` is high or low). Typical is the first's."""
    typical, note = typical_of(panels, point, numbers[0])
    if math.isnan(typical):
        return Band.of(math.nan, math.nan, math.nan, point.setting, note)
    if point.setting == "ohms":
        low, high = _ohms_ends(panels, point, numbers, weights)
    else:
        within = panels.board.meter.ranges(point.setting)[-1] if point.setting == "diode" else None
        scale = point.scale(panels, within)
        spread = mixture(panels, point, scale, numbers, weights)
        low, high = (math.nan, math.nan) if spread is None else map(scale.from_scale, spread.quantiles(ENDS).tolist())
    low, high = min(low, typical), max(high, typical)
    return Band.of(low, typical, high, point.setting, dead=DEAD_VOLTS if _is_dead(point, low, typical, high) else None)


def _is_dead(point: Point, low: float, typical: float, high: float) -> bool:
    """Whether nothing is on a line: it picks up a little, and nothing is wrong with that."""
    to_ground = point.setting == "volts" and "0" in point.pair
    return to_ground and abs(typical) < NOTHING and -DEAD_VOLTS < low and high < DEAD_VOLTS


def ready(panels: Panels, point: Point, numbers: Sequence[int]) -> None:
    """Work out many hypotheses at once where each would else be by itself (volts and amps: one scale for all)."""
    if point.setting in ("volts", "amps") and len(numbers):
        panels.holding(point.context, point.scale(panels), point.pair)[0].sheet(
            np.array(sorted(numbers), dtype=np.intp)
        )


def typical_of(panels: Panels, point: Point, number: int) -> tuple[float, str]:
    """What nominal parts show (autoranging from the top down), and a word where they show nothing steady."""
    rows: Sequence[Range | None] = (None,)
    if point.setting in ("ohms", "diode"):
        rows = panels.board.meter.ranges(point.setting)[::-1]
    value = math.nan
    for k, within in enumerate(rows):
        panel, row = panels.holding(point.context, point.scale(panels, within), point.pair)
        tips = float(panel.usual(number)[row])
        if math.isnan(tips):
            return math.nan, "pulsing"
        shown = panel.scale.from_scale(tips)
        if within is not None and k > 0 and not within.shows(shown):
            break
        value = shown
        lower = rows[k + 1] if k + 1 < len(rows) else None
        if lower is None or not lower.shows(value):
            break
    return value, ""


def mixture(
    panels: Panels, point: Point, scale: Scale, numbers: Sequence[int], weights: Sequence[float]
) -> Mixture | None:
    """What may be read on a scale, as one mixture over boxes; None where nothing steady is."""
    panel, row = panels.holding(point.context, scale, point.pair)
    listed = np.array(sorted(numbers), dtype=np.intp)
    cells = Cells.whole(listed, len(panels.board.variables.axes)).laid_on(panel)
    sheet = panel.sheet(listed)
    box = cells.boxes[0]
    told = sheet.boxes.told[box]
    if not told.any():
        return None
    mean = sheet.boxes.mean[box, row]
    width = cells.region.high - cells.region.low
    change = sheet.boxes.slope[box, row] * width
    loads = sheet.loads[box, row].astype(float)
    even = loads[:, panels.board.variables.even] * math.sqrt(12)
    stretch = np.concatenate([change, even], axis=1)
    lead = np.abs(stretch).argmax(1)
    rise = stretch[np.arange(len(box)), lead]
    variance = (loads**2).sum(1) + (change**2).sum(1) / 12 - rise**2 / 12
    variance += scale.gain(mean) ** 2 + scale.counts(mean) ** 2
    share = dict(zip(numbers, weights, strict=True))
    weight = np.exp(cells.log_weight) * np.array([share[int(k)] for k in cells.region.owner]) * told
    return Mixture(weight / weight.sum(), mean, np.maximum(variance, 1e-18), rise)


def _ohms_ends(panels: Panels, point: Point, numbers: Sequence[int], weights: Sequence[float]) -> tuple[float, float]:
    """The display shows less than r exactly when, on the range that shows r, the tips stand lower than r's volts."""
    rows = panels.board.meter.ranges(point.setting)
    made: dict[Range, Mixture | None] = {}

    def below(ohms: float) -> float:
        within = next((r for r in rows if r.shows(ohms)), rows[-1])
        scale = point.scale(panels, within)
        if within not in made:
            made[within] = mixture(panels, point, scale, numbers, weights)
        spread = made[within]
        return math.nan if spread is None else spread.below(scale.to_scale(ohms))

    top = rows[-1].top
    ends = []
    for share in ENDS:
        low, high = math.log(_LEAST_OHMS), math.log(top * (1 - 1e-9))
        if not below(math.exp(high)) >= share:
            ends.append(math.inf)
            continue
        for _ in range(_STEPS):
            middle = (low + high) / 2
            low, high = (middle, high) if below(math.exp(middle)) < share else (low, middle)
        ends.append(math.exp((low + high) / 2))
    return ends[0], ends[1]
