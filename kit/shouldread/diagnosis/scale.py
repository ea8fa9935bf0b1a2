"""From what a display shows to volts between the tips and back, and how far each of them may be off."""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from shouldread.meter import Meter, Range, thevenin

Array = NDArray[np.float64]

FLOOR_VOLTS = 0.004  # what a model of a real board is off at a node (own judgement)
DEAD_VOLTS = 0.02  # what a dead line, or a converter that is off, still shows (common practice, no source)
NOTHING = 0.001  # volts below which a line counts as dead
NEAR_DEAD = 0.1  # volts up to which a line may be such a one
FLOOR_ACROSS = 0.0003  # the same across one part (own judgement)
FLOOR_OHMS = 0.005  # of the reading: contact and model (own judgement)
LEADS = 0.05  # ohm: how well lead resistance repeats (own judgement)
FLOOR_AMPS = 0.01  # what a board draws that no circuit names: tens of milliamperes (common practice, no source)
AMPS_MODEL = 0.1  # of the reading: what a board draws is known no better (own judgement)


@dataclass(frozen=True, slots=True)
class Scale:
    """One setting (and range) of a meter: the straight quantity that hypotheses predict, and its errors.

    Volts and amps are their own scale. Ohms and diode are told in volts between the tips, 0 to the open-circuit
    volts: there a junction, a resistor and OL all lie on one finite, nearly straight scale.
    """

    meter: Meter
    setting: str
    range: Range | None = None
    across: bool = False

    @property
    def source(self) -> tuple[float, float]:
        """Volts and ohms that the meter puts between the tips."""
        behind = thevenin(self.meter, self.setting, self.range)
        return behind.volts, behind.ohms

    def to_scale(self, shown: float) -> float:
        """Where a displayed value (SI; inf is OL) lies on the scale."""
        if self.setting == "ohms":
            return self._tips_of_ohms(shown)
        if self.setting == "diode":
            volts, ohms = self.source
            lead = self._range.lead_ohms / ohms
            return volts if math.isinf(shown) else min((shown - volts * lead) / (1 - lead), volts)
        return shown

    def _tips_of_ohms(self, shown: float) -> float:
        volts, ohms = self.source
        if math.isinf(shown):
            return volts
        beyond = shown - self._range.lead_ohms
        return volts * beyond / (ohms + beyond) if beyond > -0.9 * ohms else -volts

    @property
    def _range(self) -> Range:
        assert self.range is not None
        return self.range

    def from_scale(self, at: float) -> float:
        """The displayed value at a place on the scale; inf from where the range shows OL."""
        if self.setting in ("volts", "amps"):
            return at
        volts, ohms = self.source
        lead = self._range.lead_ohms
        if self.setting == "diode":
            shown = at + (volts - at) * lead / ohms
            return math.inf if shown >= self._range.top else shown
        if at >= volts * (1 - 1e-9):
            return math.inf
        shown = ohms * at / (volts - at) + lead
        return math.inf if shown >= self._range.top else shown

    @property
    def over(self) -> float:
        """From where on the scale the display says OL (inf where it never does)."""
        return self.to_scale(self._range.top) if self.setting in ("ohms", "diode") else math.inf

    def gain(self, at: Array) -> Array:
        """Standard deviation, on the scale, by the one gain error that all readings of a range share."""
        if self.setting == "ohms":
            volts, _ = self.source
            inside = np.clip(at, 0.0, volts)
            return self._range.percent / 200 * inside * (volts - inside) / volts
        percent, _ = self._accuracy(at)
        return percent / 200 * np.abs(at)

    def counts(self, at: Array) -> Array:
        """Standard deviation, on the scale, by the last digits: fresh at each reading."""
        if self.setting == "ohms":
            volts, ohms = self.source
            error = math.hypot(self._range.digits * self._range.resolution / 2, LEADS)
            return error * (volts - np.clip(at, 0.0, volts)) ** 2 / (volts * ohms)
        return self._accuracy(at)[1]

    def floor(self, at: Array) -> Array:
        """Standard deviation, on the scale, by what no circuit model knows: the same at each repeat."""
        if self.setting == "ohms":
            volts, _ = self.source
            inside = np.clip(at, 0.0, volts)
            return FLOOR_OHMS * inside * (volts - inside) / volts
        if self.setting == "amps":
            return AMPS_MODEL * np.abs(at) + FLOOR_AMPS
        if self.across:
            return np.full_like(at, FLOOR_ACROSS)
        return np.hypot(FLOOR_VOLTS, DEAD_VOLTS * np.exp(-((at / NEAR_DEAD) ** 2)))

    def ohms_law(self, mean: Array, variance: Array) -> tuple[Array, Array]:
        """Displayed ohms as a logarithm: mean and variance out of those of the tips' volts."""
        volts, ohms = self.source
        inside = np.clip(mean, volts * 1e-7, volts * (1 - 1e-7))
        steep = volts / (inside * (volts - inside))
        return np.log(ohms * inside / (volts - inside)), variance * steep * steep

    def variance(self, at: Array) -> Array:
        """All of these together, squared."""
        return np.asarray(self.gain(at) ** 2 + self.counts(at) ** 2 + self.floor(at) ** 2)

    def _accuracy(self, at: Array) -> tuple[Array, Array]:
        tops, percent, counts = _table(self.meter.ranges(self.setting))
        which = np.minimum(np.searchsorted(tops, np.abs(at), side="right"), len(tops) - 1)
        return percent[which], counts[which]


@cache
def _table(rows: tuple[Range, ...]) -> tuple[Array, Array, Array]:
    """Tops of ranges, percent of the reading, and deviation by counts."""
    return (
        np.array([r.top for r in rows]),
        np.array([r.percent for r in rows]),
        np.array([r.digits * r.resolution / 2 for r in rows]),
    )
