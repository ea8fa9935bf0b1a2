"""Values of parts that cannot be read or have drifted: median and 90 % interval, out of what was read."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.circuit import Circuit
from shouldread.diagnosis.belief import Weighed
from shouldread.diagnosis.board import Board
from shouldread.diagnosis.mixture import Mixture
from shouldread.diagnosis.plans import Axis
from shouldread.diagnosis.variables import relative_sigma
from shouldread.parts import KINDS, Severity, number_of, spreads_of
from shouldread.quantities import Spread, say

Array = NDArray[np.float64]
_LEAST = 1e-3  # share of "drifted" below which no value is told
_ENDS = (0.05, 0.5, 0.95)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value in SI units: half of belief lies below ``median``, nine tenths between ``low`` and ``high``."""

    part: str
    median: float
    low: float
    high: float
    unit: str

    def __str__(self) -> str:
        low, median, high = (say(x, self.unit, 3) for x in (self.low, self.median, self.high))
        return f"{self.part}: about {median} ({low} to {high})"


def estimates(board: Board, weighed: Weighed) -> Mapping[str, Estimate]:
    """By part: every value that nobody knows, and every drifted one, as if it were so, while that is not ruled out."""
    found: dict[str, Estimate] = {}
    for number, name in enumerate(board.variables.axes):
        part, _, what = name.rpartition(".")
        if what == "value" and part in board.circuit.netlist:
            axis = _wide(board.circuit, part)
            found[part] = _estimate(board, part, _positions(weighed, weighed.cell_share, number), axis, 1.0, 0.0)
    mass = weighed.hypothesis_share(len(board.hypotheses))
    drifts: dict[str, list[tuple[int, int, Severity]]] = {}
    for number, hypothesis in enumerate(board.hypotheses.all):
        for k, member in enumerate(hypothesis.members):
            if member.mode.startswith("drifted") and member.severity_range is not None:
                drifts.setdefault(member.parts[0], []).append((number, k, member.severity_range))
    for part, rows in drifts.items():
        base = _nominal(board.circuit, part)
        if base is not None and sum(mass[number] for number, _, _ in rows) >= _LEAST:
            found[part] = _drifted(board, weighed, part, base, rows)
    return found


def _wide(circuit: Circuit, part: str) -> Axis:
    value = circuit.netlist[part].value
    assert value is not None
    return Axis(part, value.low, value.high)


def _drifted(
    board: Board, weighed: Weighed, part: str, base: Spread, rows: list[tuple[int, int, Severity]]
) -> Estimate:
    """The value of a part over the hypotheses in which it drifted, up and down weighed as they stand."""
    scaled = []
    for number, axis, graded in rows:
        here = weighed.cell_share * (weighed.cells.region.owner == number)
        positions = _positions(weighed, here, axis)
        scaled.append(Mixture(positions.weight, *_logs(positions, Axis(part, graded.low, graded.high))))
    weight = np.concatenate([m.weight for m in scaled])
    whole = Mixture(
        weight / weight.sum(),
        np.concatenate([m.mean for m in scaled]) + math.log(base.nominal),
        np.concatenate([m.variance for m in scaled]) + relative_sigma(base) ** 2,
        np.concatenate([m.rise for m in scaled]),
    )
    return _told(board, part, whole)


def _nominal(circuit: Circuit, part: str) -> Spread | None:
    one = circuit.netlist[part]
    what = "dcr" if one.kind == "L" else "value"
    return dict(spreads_of(one)).get(what) or number_of(one, what)


def _estimate(board: Board, part: str, positions: Mixture, axis: Axis, base: float, sigma: float) -> Estimate:
    mean, variance, rise = _logs(positions, axis)
    weight = positions.weight / positions.weight.sum()
    return _told(board, part, Mixture(weight, mean + math.log(base), variance + sigma * sigma, rise))


def _told(board: Board, part: str, whole: Mixture) -> Estimate:
    unit = "Ω" if board.circuit.netlist[part].kind == "L" else KINDS[board.circuit.netlist[part].kind].unit
    low, median, high = map(math.exp, whole.quantiles(_ENDS))
    return Estimate(part, median, low, high, unit)


def _logs(positions: Mixture, axis: Axis) -> tuple[Array, Array, Array]:
    """Positions 0..1 as logarithms of the axis's value."""
    span = math.log(axis.high / axis.low)
    return (
        math.log(axis.low) + span * positions.mean,
        (span * span) * positions.variance + 1e-12,
        span * positions.rise,
    )


def _positions(weighed: Weighed, share: Array, axis: int) -> Mixture:
    """Where along an axis belief lies: each cell's stretch, even where nothing was read of it, normal where much was."""
    live = np.flatnonzero(share > 1e-9 * max(float(share.max(initial=0.0)), 1e-300))
    region = weighed.cells.region
    middle = region.middle[live, axis]
    width = (region.high - region.low)[live, axis]
    led = weighed.lead[live] == axis
    place = np.where(led, weighed.fitted.place[live, 0], 0.0)
    breadth = np.where(led, weighed.fitted.breadth[live, 0], 1 / 12)
    even = 12 * breadth  # of the stretch
    return Mixture(share[live], middle + width * place, width**2 * breadth * (1 - even), width * even)
