"""Ways: how the readings of a setting are predicted, for many points of hypotheses at once."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.lanes import Lanes, Meters
from shouldread.diagnosis.scale import Scale
from shouldread.parts import THERMAL_VOLTS
from shouldread.solve import Points

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Pair = tuple[str, str]

STRAY_AMPS = 1e-6  # that leak into a line from its neighbours (own judgement) ...
PICKED_UP = 0.02  # ... up to as many volts
FEW_COLUMNS = 60  # tolerances up to which their part in a supply's amps is worked out; beyond it counts as a tenth
BENT = 0.3  # of the display's deviation: what dividing down may be off before a solve with the meter is worth it


@dataclass(frozen=True, slots=True)
class Told:
    """Predictions of L points at R rows on their scale: ``mean`` (L, R), ``loads`` (L, R, C), ``loose`` (L, R), the
    variance of what a line picks up, and ``told`` (L,)."""

    mean: Array
    loads: Array
    loose: Array
    told: NDArray[np.bool_]

    def of(self, rows: slice) -> "Told":
        """Those of some points."""
        return Told(self.mean[rows], self.loads[rows], self.loose[rows], self.told[rows])

    @property
    def arrays(self) -> tuple[Array, Array, Array, NDArray[np.bool_]]:
        """All of them."""
        return self.mean, self.loads, self.loose, self.told


class Way(Protocol):
    """How a setting is predicted."""

    def tell(self, lanes: Lanes, owner: Ints, points: Array, pairs: tuple[Pair, ...], scale: Scale) -> Told:
        """What ``pairs`` read with hypothesis ``owner[l]`` at ``points[l]`` (L, D)."""
        ...


class VoltsWay:
    """Volts as the meter's own input resistance lets them stand."""

    def tell(self, lanes: Lanes, owner: Ints, points: Array, pairs: tuple[Pair, ...], scale: Scale) -> Told:
        """The unloaded solve divided down by what each pair shows; a solve with the meter where that bends."""
        solved = lanes.solve(owner, points)
        told = np.asarray(solved.status == 0)
        inverse = solved.inverse(pairs)
        volts, ohms = solved.volts(pairs), solved.resistance(pairs, inverse)
        share = scale.meter.input_ohms / (scale.meter.input_ohms + np.maximum(ohms, 0.0))
        mean = volts * share
        loads = lanes.loads(solved, inverse)
        loads *= share[:, :, None]
        # a junction bends the divider by at most drop² / 2 Vt, and only where the drop reaches it
        bent = (volts - mean) ** 2 / (2 * THERMAL_VOLTS)
        far = told[:, None] & ~(bent < BENT * np.sqrt(scale.variance(np.nan_to_num(mean))))
        if far.any():
            lane, row = np.nonzero(far)
            meters = Meters(pairs, row, np.full(len(row), scale.meter.input_ohms), np.zeros(len(row)))
            some = _some(solved, lane)
            answer = tips_told(lanes, meters, owner[lane], some.slots, some)
            mean[lane, row], loads[lane, row] = answer.mean[:, 0], answer.loads[:, 0]
            np.logical_and.at(told, lane, answer.told)
        strayed = np.minimum(np.maximum(ohms, 0.0) * share * STRAY_AMPS, PICKED_UP)
        loose = np.where(told[:, None] & ~np.isnan(strayed), strayed**2, 0.0)
        mean[~told], loads[~told] = np.nan, 0.0
        return Told(mean, loads, loose, told)


class AmpsWay:
    """What a supply delivers, as its own display shows it."""

    def tell(self, lanes: Lanes, owner: Ints, points: Array, pairs: tuple[Pair, ...], scale: Scale) -> Told:
        """Amps out of the first pin of each supply; what tolerances do by differences, on small circuits only."""
        pins = [f"{name}.{lanes.network.circuit.part(name).pins[0]}" for name, _ in pairs]
        solved = lanes.solve(owner, points)
        told = np.asarray(solved.status == 0)
        mean = -np.stack([solved.pin_amps(pin) for pin in pins], axis=1)
        loads = np.zeros((len(points), len(pairs), lanes.columns))
        if lanes.columns <= FEW_COLUMNS:
            for lane in np.flatnonzero(told):
                slots = lanes.moved(solved.slots[lane])
                at = _some(solved, np.full(len(slots), lane))
                moved = lanes.network.solve(slots=slots, warm=at)
                amps = -np.stack([moved.pin_amps(pin) for pin in pins])
                loads[lane] = [lanes.by_column(row) for row in amps - mean[lane][:, None]]
        return Told(np.where(told[:, None], mean, np.nan), loads, np.zeros_like(mean), told)


def _some(points: Points, which: Ints) -> Points:
    return Points(points.network, points.raw[which], points.bits[which], points.status[which], points.slots[which])


def tips_told(lanes: Lanes, meters: Meters, owner: Ints, slots: Array, warm: Points | None = None) -> Told:
    """Volts between the tips (L, 1), a meter on each lane at a pair of its own, hypothesis ``owner[l]`` by its numbers (L, S)."""
    solved, nodes = lanes.metered(meters, owner, slots, warm), meters.nodes(lanes.network)
    every = np.arange(len(owner))
    mean = (solved.raw[every, nodes[:, 0]] - solved.raw[every, nodes[:, 1]])[:, None]
    loads = lanes.loads(solved, solved.inverse_of(nodes))
    told = np.asarray(solved.status == 0)
    mean[~told], loads[~told] = np.nan, 0.0
    return Told(mean, loads, np.zeros_like(mean), told)


WAYS: dict[str, Way] = {"volts": VoltsWay(), "amps": AmpsWay()}  # the others drive a board with nothing fed
