"""What a reading says when nothing is known of it: a wrong reading, or a fault that is none of those listed."""

import math
from dataclasses import dataclass

from shouldread.circuit import Circuit, State, fed_in, feed_of
from shouldread.diagnosis.scale import Scale

OHMS = (0.1, 100e6)
AMPS = (1e-3, 10.0)
OVER = 0.15  # chance of OL on ohms (own judgement)
DIODE_OVER = 0.3  # chance of OL on the diode test (own judgement)
HEADROOM = 1.1  # times the highest rail: how far volts may lie


@dataclass(frozen=True, slots=True)
class Flat:
    """A law that prefers nothing: volts even from 0 to a top, ohms and amps even by decades, OL on its own."""

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

    def _share(self, low: float, high: float) -> float:
        setting = self.scale.setting
        if setting == "volts":
            return _overlap(low, high, 0.0, self.top)
        if setting == "amps":
            return _overlap(_log(low), _log(high), *map(math.log, AMPS))
        beyond = OVER if setting == "ohms" else DIODE_OVER
        over = beyond if high > self.scale.over else 0.0
        if setting == "diode":
            return (1 - beyond) * _overlap(low, high, 0.0, self.scale.over) + over
        ends = _log(self._ohms(low)), _log(self._ohms(high))
        return (1 - beyond) * _overlap(*ends, *map(math.log, OHMS)) + over

    def _ohms(self, at: float) -> float:
        volts, ohms = self.scale.source
        return math.inf if at >= volts else ohms * at / (volts - at)


def _log(value: float) -> float:
    return math.log(value) if value > 0 else -math.inf


def _overlap(low: float, high: float, least: float, most: float) -> float:
    inside = min(high, most) - max(low, least)
    return 1.0 if inside >= most - least else max(0.0, inside / (most - least))


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
