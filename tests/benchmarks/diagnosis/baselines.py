"""What diagnosis is compared with: particles, independent bands, the nearest entry of a fault dictionary.

All of them know what the kit knows: priors, severities, tolerances, what models, meters and stray paths are off by.
None knows what the real boards are made of.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shouldread.diagnosis.board import Board, Context
from shouldread.diagnosis.lanes import Meters
from shouldread.diagnosis.scale import Scale
from shouldread.diagnosis.ways import PICKED_UP, STRAY_AMPS
from shouldread.meter import meter

from tests.benchmarks.diagnosis.boards import METER_OHMS
from tests.benchmarks.diagnosis.stages import Stage, known
from tests.benchmarks.diagnosis.worlds import doubt

Array = NDArray[np.float64]
HEALTHY, NONE = "healthy", "none of these"
FLAT = 1 / 13.2  # per volt: a reading that nothing explains may be anything from 0 to 1.1 times the supply
NONE_PRIOR = 0.03


@dataclass(frozen=True, slots=True)
class Cloud:
    """Readings (N, K) of boards drawn under each hypothesis, and its prior.

    ``noise`` (N, K) is the deviation of each by all that the kit doubts beside tolerances, ``display`` by its digits.
    """

    names: tuple[str, ...]
    priors: Array
    readings: tuple[Array, ...]
    noise: tuple[Array, ...]
    display: tuple[Array, ...]
    nominal: Array

    def holds(self, shown: Array) -> bool:
        """Whether every place reads what some single fault, or none, may read there (5 deviations allowed)."""
        ends = ((r - 5 * n, r + 5 * n) for r, n in zip(self.readings, self.noise, strict=True))
        return any(bool(((low.min(0) < shown) & (shown < high.max(0))).all()) for low, high in ends)


def cloud(stage: Stage, particles: int, draw: np.random.Generator) -> Cloud:
    """Draw ``particles`` boards per hypothesis from the kit's own model, readings at all places."""
    board, scale, doubts = Board(known(stage), meter(), shorts_vary=True), Scale(meter(), "volts"), doubt(stage)
    places = tuple((p, "0") for p in stage.places)
    names, readings, widths, digits, nominal = [], [], [], [], []
    for number, hypothesis in enumerate(board.hypotheses.all):
        lanes = board.lanes(number, Context("run"))
        axes = len(board.variables.axes)
        points = np.vstack([np.full((1, axes), 0.5), draw.uniform(size=(particles, axes))])
        owner = np.full(len(points), number)
        slots = lanes.slots(owner, points)
        common: dict[str, Array] = {}
        for param in lanes.network.params:
            if param.spread.law == "uniform":
                slots[1:, param.slot] *= (
                    draw.uniform(param.spread.low, param.spread.high, particles) / param.spread.nominal
                )
                continue
            moved = np.exp(doubts.get((param.part, param.what), 0.0) * draw.normal(size=particles))
            slots[1:, param.slot] *= common.setdefault(param.key, moved)
        ohms = lanes.network.solve(slots=slots).resistance(places)
        true = np.hstack(
            [lanes.metered(Meters.alike(p, METER_OHMS, 0.0, len(owner)), owner, slots).volts((p,)) for p in places]
        )
        good = np.isfinite(true).all(1)
        true, ohms = true[good], ohms[good]
        names.append(HEALTHY if number == 0 else hypothesis.name)
        nominal.append(np.nan_to_num(true[0]))
        readings.append(true + scale.gain(true) * draw.normal(size=(len(true), 1)))
        strays = np.minimum(np.maximum(ohms, 0.0) * STRAY_AMPS, PICKED_UP)
        digits.append(np.maximum(scale.counts(true), 1e-4))
        widths.append(np.sqrt(scale.counts(true) ** 2 + scale.floor(true) ** 2 + strays**2))
    priors = np.array([h.prior for h in board.hypotheses.all])
    priors = priors / priors.sum() * (1 - NONE_PRIOR)
    return Cloud(tuple(names), priors, tuple(readings), tuple(widths), tuple(digits), np.array(nominal))


def by_particles(of: Cloud, shown: Array, columns: list[int]) -> dict[str, float]:
    """Every drawn board votes by how near its readings lie: correlation and shape kept."""
    weights = []
    for rows, noise in zip(of.readings, of.noise, strict=True):
        away, wide = (rows[:, columns] - shown) / noise[:, columns], noise[:, columns] * math.sqrt(2 * math.pi)
        weights.append(float(np.mean(np.exp(-0.5 * (away**2).sum(1)) / wide.prod(1))))
    return _shares(of, np.array(weights), len(columns))


def by_bands(of: Cloud, shown: Array, columns: list[int], *, plain: bool = False) -> dict[str, float]:
    """One band per node and fault, multiplied as though nodes had nothing to do with each other.

    ``plain``: bands of tolerances and the display alone, as a tolerance analysis prints them.
    """
    weights = []
    for rows, noise in zip(of.readings, of.display if plain else of.noise, strict=True):
        mean = rows[:, columns].mean(0)
        sigma = np.sqrt(rows[:, columns].var(0) + (noise[:, columns] ** 2).mean(0))
        weights.append(float(np.prod(np.exp(-0.5 * ((shown - mean) / sigma) ** 2) / (sigma * math.sqrt(2 * math.pi)))))
    return _shares(of, np.array(weights), len(columns))


def by_nearest(of: Cloud, shown: Array, columns: list[int]) -> dict[str, float]:
    """The nearest entries of a table of nominal readings, faults within 50 mV or 2 % at every node alike."""
    width = 0.05 + 0.02 * np.abs(of.nominal[:, columns])
    away = np.abs(of.nominal[:, columns] - shown) / width
    return _shares(of, np.exp(-0.5 * (away**2).sum(1)) / np.prod(width * math.sqrt(2 * math.pi), axis=1), len(columns))


def _shares(of: Cloud, weights: Array, count: int) -> dict[str, float]:
    parts = of.priors * weights
    flat = NONE_PRIOR * FLAT**count
    total = parts.sum() + flat
    shares: dict[str, float] = {NONE: flat / total}
    for name, share in zip(of.names, parts / total, strict=True):
        shares[name] = float(share)
    return shares


def of_the_truth(shares: Mapping[str, float], faults: tuple[str, ...]) -> float:
    """The share of what is really wrong, never below a thousandth (a benchmark is no place for infinity)."""
    name = " + ".join(faults) if faults else HEALTHY
    return max(shares.get(name, 0.0), 1e-3)
