"""What is unsure about a network, and where its numbers belong: params with a column, wide ones with an axis."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.variables import Variables, relative_sigma
from shouldread.solve import Network

Array = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Axis:
    """Something that runs over a wide range, evenly in its logarithm: ``name`` is ``severity 1`` or a param's key."""

    name: str
    low: float
    high: float


def along(low: Array, ratio: Array, position: Array) -> Array:
    """Ohms or factors at positions 0..1 of ranges from ``low`` to ``ratio`` times that, evenly in their logarithms."""
    return np.asarray(low * ratio**position)


@dataclass(frozen=True, slots=True)
class Handle:
    """A slot of the network that an axis turns to ``base`` times its value."""

    axis: int
    slot: int
    base: float


@dataclass(frozen=True, slots=True)
class Plan:
    """Where the numbers of a network belong: params with a column (V of them: their numbers, columns, slots, deviations), and
    the wide ones with their axes.

    ``turned`` (W,) are the numbers that axes turn, ``turning`` (W,) the axis of each, ``low`` and ``ratio`` (W,) its ends.
    """

    columns: int
    param: Ints
    column: Ints
    slot: Ints
    relative: Array
    absolute: Array
    axes: Mapping[int, Axis]
    turned: Ints
    turning: Ints
    low: Array
    ratio: Array


class Plans:
    """Plans of networks; patched ones share that of the network they were laid on.

    ``shorts_vary``: a short is anything up to a few ohms, as met on boards, and not just what a bare name stands for.
    """

    def __init__(self, unsure: Variables, *, shorts_vary: bool) -> None:
        self.shorts_vary = shorts_vary
        self._unsure = unsure
        self._made: dict[int, tuple[object, Plan]] = {}

    def of(self, network: Network) -> Plan:
        """The plan of a network's params."""
        key = id(network.params)
        if key not in self._made:
            self._made[key] = network.params, self._plan(network)
        return self._made[key][1]

    def _plan(self, network: Network) -> Plan:
        columns = self._unsure.columns
        numbers = {name: k for k, name in enumerate(self._unsure.axes)}
        rows = [(k, columns[p.key], p) for k, p in enumerate(network.params) if p.key in columns]
        sigmas = [p.sense * relative_sigma(p.spread) for _, _, p in rows]
        column = np.array([c for _, c, _ in rows], dtype=np.intp)
        wide = [(numbers[p.key], p) for p in network.params if p.key in numbers]
        return Plan(
            len(columns),
            np.array([k for k, _, _ in rows], dtype=np.intp),
            column,
            np.array([p.slot for _, _, p in rows], dtype=np.intp),
            np.array(sigmas),
            np.array([0.0 if s else p.spread.sigma for s, (_, _, p) in zip(sigmas, rows, strict=True)]),
            {axis: Axis(p.key, p.spread.low, p.spread.high) for axis, p in wide},
            np.array([p.slot for _, p in wide], dtype=np.intp),
            np.array([axis for axis, _ in wide], dtype=np.intp),
            np.array([p.spread.low for _, p in wide]),
            np.array([p.spread.high / p.spread.low for _, p in wide]),
        )
