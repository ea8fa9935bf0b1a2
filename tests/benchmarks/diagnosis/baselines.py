"""What diagnosis is compared with: particles, independent bands, the nearest entry of a fault dictionary.

All of them know the kit's own priors, severities and tolerances, and none knows what the real boards are made of.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shouldread.diagnosis.board import Board, Context
from shouldread.diagnosis.scale import FLOOR_VOLTS
from shouldread.meter import meter

from tests.benchmarks.diagnosis.boards import METER_OHMS, known
from tests.benchmarks.diagnosis.stages import Stage

Array = NDArray[np.float64]
HEALTHY, NONE = "healthy", "none of these"
FLAT = 1 / 13.2  # per volt: a reading that nothing explains may be anything from 0 to 1.1 times the supply
COUNTS = 0.003  # volts, one sigma: what the last digits of the display are off
NONE_PRIOR = 0.03


@dataclass(frozen=True, slots=True)
class Cloud:
    """Readings (N, K) of boards drawn under each hypothesis, and its prior."""

    names: tuple[str, ...]
    priors: Array
    readings: tuple[Array, ...]
    nominal: Array


def cloud(stage: Stage, particles: int, draw: np.random.Generator) -> Cloud:
    """Draw ``particles`` boards per hypothesis from the kit's own model, readings at all places."""
    board = Board(known(stage), meter(), shorts_vary=True)
    places = tuple((p, "0") for p in stage.places)
    names, readings, nominal = [], [], []
    for number, hypothesis in enumerate(board.hypotheses.all):
        lanes = board.lanes(number, Context("run"))
        axes = len(board.variables.axes)
        points = np.vstack([np.full((1, axes), 0.5), draw.uniform(size=(particles, axes))])
        slots = lanes.slots(points)
        for param in lanes.network.params:
            sigma = math.log(abs(param.spread.high / param.spread.low)) / 4
            slots[1:, param.slot] *= np.exp(sigma * draw.normal(size=particles))
        solved = lanes.network.solve(slots=slots)
        true = solved.volts(places) * METER_OHMS / (METER_OHMS + solved.resistance(places))
        good = np.isfinite(true).all(1)
        names.append(HEALTHY if number == 0 else hypothesis.name)
        nominal.append(np.nan_to_num(true[0]))
        gain = 1 + 0.005 / math.sqrt(3) * draw.uniform(-1, 1, (int(good.sum()), 1))
        readings.append(true[good] * gain)
    priors = np.array([h.prior for h in board.hypotheses.all])
    return Cloud(tuple(names), priors / priors.sum() * (1 - NONE_PRIOR), tuple(readings), np.array(nominal))


def by_particles(of: Cloud, shown: Array, columns: list[int]) -> dict[str, float]:
    """Every drawn board votes by how near its readings lie: correlation and shape kept."""
    noise = math.hypot(FLOOR_VOLTS, COUNTS)
    weights = []
    for rows in of.readings:
        away = (rows[:, columns] - shown) / noise
        weights.append(
            float(np.mean(np.exp(-0.5 * (away**2).sum(1)))) / (noise * math.sqrt(2 * math.pi)) ** len(columns)
        )
    return _shares(of, np.array(weights), len(columns))


def by_bands(of: Cloud, shown: Array, columns: list[int]) -> dict[str, float]:
    """One band per node and fault, multiplied as though nodes had nothing to do with each other."""
    weights = []
    for rows in of.readings:
        mean = rows[:, columns].mean(0)
        sigma = np.hypot(rows[:, columns].std(0), math.hypot(FLOOR_VOLTS, COUNTS))
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
