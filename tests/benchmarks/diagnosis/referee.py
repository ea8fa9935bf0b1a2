"""What the kit's own model says of a board without the kit's shortcuts: every share integrated by weighted draws.

The model is that of the particles: priors, severities, tolerances, devices, meter, stray millivolts. Nobody who knows no
more than it can score better on boards drawn from it. Draws are taken where a straight model about each step of severity
expects them given the readings, solved without straightening anything, and weighed by how much likelier the model makes
them than the straight one did (importance sampling; e.g. Owen 2013, Monte Carlo theory, methods and examples, ch. 9,
from memory).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp
from shouldread.diagnosis.board import Board, Context
from shouldread.diagnosis.lanes import Lanes, Meters
from shouldread.diagnosis.panel import Panels
from shouldread.diagnosis.scale import Scale
from shouldread.meter import meter

from tests.benchmarks.diagnosis.baselines import FLAT, HEALTHY, METER_OHMS, NONE, NONE_PRIOR
from tests.benchmarks.diagnosis.stages import Stage, known
from tests.benchmarks.diagnosis.worlds import doubt

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

STEPS = 256  # of severity
DRAWS = 256  # for each hypothesis that counts
COUNTS = 1e-9  # of the heaviest: hypotheses below it are left as the straight model says
SPREAD = 0.1  # of the draws: over all steps of severity alike
UNTOLD = -1e6  # log density of what cannot be
FARTHEST = 6.0  # deviations: what lies farther off weighs nothing, and may take a stage long to come to rest with
ABSURD = 1e3  # volts: a draw of parts so far off that the stage runs away
EDGE = math.sqrt(3.0)  # deviations to the end of an even law


@dataclass(frozen=True, slots=True)
class _Straight:
    """A hypothesis at its steps of severity: points (S, D), readings ``mean`` (S, R), their change per deviation of each
    number (S, R, C), the last of them along the step, variances (S, R) of what is fresh at each place, ``told`` (S,)."""

    number: int
    points: Array
    mean: Array
    loads: Array
    fresh: Array
    told: NDArray[np.bool_]


class Referee:
    """The shares of a stage's hypotheses, of boards read at all its places."""

    def __init__(self, stage: Stage, draw: np.random.Generator) -> None:
        self._stage, self._draw = stage, draw
        self._board, self._scale = Board(known(stage), meter(), shorts_vary=True), Scale(meter(), "volts")
        self._doubts, self._context = doubt(stage), Context("run")
        self._panel = Panels(self._board).volts(self._context)
        self._rows = [self._panel.pairs.index((place, "0")) for place in stage.places]
        self._board.prepare(range(len(self._board.hypotheses)), self._context)
        self._even = np.append(self._board.variables.even, True)
        self.worth: list[float] = []

    def shares(self, shown: Array) -> dict[str, float]:
        """Shares by name; ``worth`` grows by the share of the draws that a board's leading hypothesis came out of."""
        laws = [self._straight(number) for number in range(len(self._board.hypotheses))]
        first = [self._steps(law, shown) for law in laws]
        straight = np.array([logsumexp(steps) - math.log(len(steps)) for steps in first])
        priors = np.array([h.prior for h in self._board.hypotheses.all])
        log = np.log(priors / priors.sum() * (1 - NONE_PRIOR)) + straight
        worth = {}
        for number in np.flatnonzero(log > log.max() + math.log(COUNTS)).tolist():
            exact, worth[number] = self._exact(laws[number], first[number], shown)
            log[number] += exact - straight[number]
        flat = math.log(NONE_PRIOR) + len(shown) * math.log(FLAT)
        total = float(np.logaddexp(logsumexp(log), flat))
        self.worth.append(worth.get(int(np.argmax(log)), 0.0))
        names = (HEALTHY if k == 0 else h.name for k, h in enumerate(self._board.hypotheses.all))
        return {NONE: math.exp(flat - total)} | {n: math.exp(one - total) for n, one in zip(names, log, strict=True)}

    @cache  # noqa: B019  (a referee lives as long as its stage is measured)
    def _straight(self, number: int) -> _Straight:
        """The straight model of a hypothesis about each step of its severity."""
        axes = len(self._board.variables.axes)
        many = STEPS if self._board.lanes(number, self._context).axes(number) else 1
        points = np.tile(((np.arange(many) + 0.5) / many)[:, None], (1, axes))
        told = self._panel.predicted(np.full(many, number), points)
        mean = np.nan_to_num(told.mean[:, self._rows])
        along = (
            np.gradient(mean, axis=0)[:, :, None] / math.sqrt(12) if many > 1 else np.zeros((1, len(self._rows), 1))
        )
        loads = np.concatenate([told.loads[:, self._rows] * self._board.variables.doubt, along], axis=2)
        fresh = self._scale.counts(mean) ** 2 + self._scale.floor(mean) ** 2 + told.loose[:, self._rows]
        return _Straight(number, points, mean, loads, fresh, told.told)

    def _noise(self, volts: Array, fresh: Array) -> Array:
        """Covariance (L, R, R) of readings of these volts."""
        gain = self._scale.gain(volts)
        return gain[:, :, None] * gain[:, None, :] + fresh[:, :, None] * np.eye(volts.shape[1])

    def _steps(self, law: _Straight, shown: Array) -> Array:
        """Log density of the readings at each step of severity, by the straight model (S,)."""
        spread = law.loads @ law.loads.transpose(0, 2, 1) + self._noise(law.mean, law.fresh)
        return np.where(law.told, _log_normal(shown - law.mean, spread), UNTOLD)

    def _exact(self, law: _Straight, steps: Array, shown: Array) -> tuple[float, float]:
        """Log density of the readings, and how many of the draws it really hangs on (a share)."""
        weight = np.exp(steps - logsumexp(steps)) * (1 - SPREAD) + SPREAD / len(steps)
        step = self._draw.choice(len(steps), size=DRAWS, p=weight / weight.sum())
        loads, noise = law.loads[step], self._noise(law.mean, law.fresh)[step]
        parts = self._draw.normal(size=(DRAWS, loads.shape[2]))
        error = np.einsum("lij,lj->li", np.linalg.cholesky(noise), self._draw.normal(size=(DRAWS, len(shown))))
        spread = loads @ loads.transpose(0, 2, 1) + noise
        short = shown - law.mean[step] - np.einsum("lrc,lc->lr", loads, parts) - error
        parts = parts + np.einsum("lrc,lr->lc", loads, np.linalg.solve(spread, short[:, :, None])[:, :, 0])
        believed = _log_normal(shown - law.mean[step] - np.einsum("lrc,lc->lr", loads, parts), noise)
        near = np.flatnonzero((np.abs(parts) < FARTHEST).all(1))
        if not len(near):
            return UNTOLD, 0.0
        volts = np.full((DRAWS, len(shown)), np.nan)
        volts[near] = self._solved(law, step[near], parts[near])
        told = (np.abs(volts) < ABSURD).all(1)
        volts = np.where(told[:, None], volts, 0.0)
        log = _log_normal(shown - volts, self._noise(volts, law.fresh[step])) - believed + steps[step]
        even = parts[:, self._even]
        log += (0.5 * even**2 + 0.5 * math.log(2 * math.pi) - math.log(2 * EDGE)).sum(1)
        log = np.where(told & (np.abs(even) <= EDGE).all(1), log, -np.inf) - np.log(weight[step] * len(steps))
        total = float(logsumexp(log))
        if not math.isfinite(total):
            return UNTOLD, 0.0
        return total - math.log(DRAWS), math.exp(2 * total - float(logsumexp(2 * log))) / DRAWS

    def _solved(self, law: _Straight, step: Ints, parts: Array) -> Array:
        """Volts at the places (L, R), each read by itself, with ``parts`` (L, C) deviations off; nan where none is told."""
        lanes, owner = self._board.lanes(law.number, self._context), np.full(len(step), law.number)
        points = np.clip(law.points[step] + parts[:, -1:] / math.sqrt(12) / len(law.points), 0.0, 1.0)
        slots = self._moved(lanes, lanes.slots(owner, points), parts)
        out = np.empty((len(step), len(self._rows)))
        for k, place in enumerate(self._stage.places):
            solved = lanes.metered(Meters.alike((place, "0"), METER_OHMS, 0.0, len(owner)), owner, slots)
            out[:, k] = np.where(solved.status == 0, solved.volts(((place, "0"),))[:, 0], np.nan)
        return out

    def _moved(self, lanes: Lanes, slots: Array, parts: Array) -> Array:
        columns: Mapping[str, int] = self._board.variables.columns
        for param in lanes.network.params:
            off = param.sense * parts[:, columns[param.key]]
            if param.spread.law == "uniform":
                half = (param.spread.high - param.spread.low) / 2
                slots[:, param.slot] += half * off / EDGE
            else:
                slots[:, param.slot] *= np.exp(self._doubts.get((param.part, param.what), 0.0) * off)
        return slots


def _log_normal(away: Array, spread: Array) -> Array:
    """Log density of normal laws of covariance (L, R, R) at ``away`` (L, R) from their means."""
    root = np.linalg.cholesky(spread)
    scaled = np.linalg.solve(root, away[:, :, None])[:, :, 0]
    rows = np.arange(away.shape[1])
    return np.asarray(
        -0.5 * (scaled**2).sum(1) - np.log(root[:, rows, rows]).sum(1) - 0.5 * len(rows) * math.log(2 * math.pi)
    )
