"""What a reading says when nothing is known of it: a wrong reading, or a fault that is none of those listed."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from shouldread.circuit import Circuit, State, fed_in, feed_of
from shouldread.diagnosis.scale import Scale

Array = NDArray[np.float64]

OHMS = (0.1, 100e6)
AMPS = (1e-3, 10.0)
OVER = 0.15  # chance of OL on ohms (own judgement)
DIODE_OVER = 0.3  # chance of OL on the diode test (own judgement)
NO_CONTACT = 0.2  # of wrong readings of volts: the tip touched nothing, so nothing is read (own judgement)
HEADROOM = 1.1  # times the highest rail: how far volts may lie


@dataclass(frozen=True, slots=True)
class Flat:
    """A law that prefers nothing: volts even from 0 to a top, ohms and amps even by decades, OL on its own.

    Its axis is that on which it is even: the scale, for ohms and amps the logarithm of what is displayed.
    """

    scale: Scale
    top: float  # volts

    def log_density(self, at: float) -> float:
        """Log density of a number at a place on the scale."""
        setting = self.scale.setting
        if setting == "volts":
            return -math.log(max(self.top, HEADROOM * abs(at)))
        if setting == "amps":
            least, most = AMPS
            return -math.log(math.log(most / least) * max(abs(at), least))
        volts, _ = self.scale.source
        if setting == "diode":
            return math.log(1 - DIODE_OVER) - math.log(self.scale.over)
        low = self.scale.to_scale(OHMS[0])
        inside = min(max(at, low, 1e-9 * volts), volts * (1 - 1e-6))
        return math.log((1 - OVER) / math.log(OHMS[1] / OHMS[0])) + math.log(volts / (inside * (volts - inside)))

    def log_share(self, low: float, high: float) -> float:
        """Log probability of an interval on the scale; exactly 0 where it holds everything."""
        return math.log(max(self._share(low, high), 1e-6))

    def log_slip(self, at: float, rounding: float) -> float:
        """Log density of a number read by mistake, per unit of the scale; ``rounding``: variance of what was not typed (V²)."""
        even = self.log_density(at)
        if self.scale.setting != "volts":
            return even
        spread = self._dead(rounding)
        touched_nothing = -0.5 * (at / spread) ** 2 - math.log(spread * math.sqrt(2 * math.pi))
        return float(np.logaddexp(math.log(1 - NO_CONTACT) + even, math.log(NO_CONTACT) + touched_nothing))

    def log_slip_share(self, low: float, high: float) -> float:
        """Log probability of an interval read by mistake; exactly 0 where it holds everything."""
        even = self.log_share(low, high)
        if self.scale.setting != "volts" or even == 0.0:
            return even
        spread = self._dead(0.0)
        touched_nothing = float(ndtr(high / spread) - ndtr(low / spread))
        return math.log((1 - NO_CONTACT) * math.exp(even) + NO_CONTACT * touched_nothing)

    def below(self, limits: Array) -> Array:
        """Share that reads below each limit (E,) on the axis; OL lies beyond all that the display shows."""
        low, high = self._ends
        even = np.clip((limits - low) / (high - low), 0.0, 1.0)
        return np.asarray((1 - self._beyond) * even + np.where(limits > self.axis(self.scale.over), self._beyond, 0.0))

    def slipped_below(self, limits: Array) -> Array:
        """The same of what is read by mistake."""
        if self.scale.setting != "volts":
            return self.below(limits)
        return np.asarray((1 - NO_CONTACT) * self.below(limits) + NO_CONTACT * ndtr(limits / self._dead(0.0)))

    def _dead(self, rounding: float) -> float:
        """Deviation of what a tip in the air shows: as a dead line does."""
        return math.sqrt(float(self.scale.variance(np.zeros(1))[0]) + rounding)

    def _share(self, low: float, high: float) -> float:
        least, most = self._ends
        inside = min(self.axis(high), most) - max(self.axis(low), least)
        even = 1.0 if inside >= most - least else max(0.0, inside / (most - least))
        return (1 - self._beyond) * even + (self._beyond if high > self.scale.over else 0.0)

    @property
    def _beyond(self) -> float:
        """Chance of OL."""
        return {"ohms": OVER, "diode": DIODE_OVER}.get(self.scale.setting, 0.0)

    @property
    def _ends(self) -> tuple[float, float]:
        """Where on the axis it is even."""
        if self.scale.setting in ("ohms", "amps"):
            low, high = OHMS if self.scale.setting == "ohms" else AMPS
            return math.log(low), math.log(high)
        return 0.0, self.scale.over if self.scale.setting == "diode" else self.top

    def axis(self, at: float) -> float:
        """A place on the scale as one on the axis."""
        if self.scale.setting not in ("ohms", "amps"):
            return at
        shown = self._ohms(at) if self.scale.setting == "ohms" else at
        return math.log(shown) if shown > 0 else -math.inf

    def _ohms(self, at: float) -> float:
        volts, ohms = self.scale.source
        return math.inf if at >= volts else ohms * at / (volts - at)


def highest_volts(circuit: Circuit, state: State) -> float:
    """The highest volts that a source gives in a state (1 V where none does)."""
    highest, told = 1.0, {name.casefold() for name in state.sets}
    for part in circuit.netlist.values():
        made_for = feed_of(part)
        if made_for is not None:
            highest = max(highest, abs(fed_in(part, state) if part.name.casefold() in told else made_for.high))
    return highest


def flat_for(circuit: Circuit, state: State, scale: Scale) -> Flat:
    """The law that prefers nothing, for readings of a scale in a state."""
    return Flat(scale, HEADROOM * highest_volts(circuit, state))
