"""What parts bear at the worst corner of all tolerances, by the slopes of each figure."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from shouldread.circuit import Circuit, asked
from shouldread.parts import Part
from shouldread.solve import Network, Points

Floats = NDArray[np.float64]
Borne = tuple[float, float, float]


def at_corners(circuit: Circuit, state: str, fault: str | None = None) -> Mapping[str, Borne]:
    """The most volts, amps and watts of each part in a state, over the tolerances of all parts together.

    Every number in turn goes to its upper limit; then, for each figure of each part, all numbers go to the limits
    that raise it. For figures that rise or fall steadily over the tolerances that is the worst there is.
    """
    question = asked(circuit, state=state, fault=fault)
    network = Network(question.board, question.edits, state=question.state.name)
    low = np.array([p.spread.low for p in network.params])
    high = np.array([p.spread.high for p in network.params])
    if not len(low):
        return {}
    lanes = np.tile(network.nominal, (len(low) + 1, 1))
    lanes[np.arange(len(low)) + 1, np.arange(len(low))] = high
    parts = tuple(part for part in question.board.netlist.values() if part.name not in network.flat.removed)
    one = _borne(network.solve(lanes), parts)
    slopes = one[1:] - one[0]  # (P, K, 3)
    ends = np.where(np.moveaxis(slopes, 0, 2).reshape(-1, len(low)) > 0, high, low)
    corner = _borne(network.solve(np.unique(ends, axis=0)), parts)
    most = np.fmax.reduce(np.concatenate([one[:1], corner]), axis=0)
    return {part.name: (float(v), float(a), float(w)) for part, (v, a, w) in zip(parts, most, strict=True)}


def _borne(points: Points, parts: tuple[Part, ...]) -> Floats:
    """(L, K, 3) sizes of volts, amps and watts as ``borne`` has them; nan in a lane that does not come to rest."""
    amps = points.every_pin_amps()
    out = np.full((len(points), len(parts), 3), np.nan)
    none = np.zeros(len(points))
    for k, part in enumerate(parts):
        pins = [amps.get(f"{part.name}.{pin}", none) for pin in part.pins]
        volts = points.volts([(node, "0") for node in part.nodes])
        second = 2 if part.kind in "QM" else 1
        out[:, k, 0] = np.abs(volts[:, 0] - volts[:, second])
        out[:, k, 1] = np.abs(pins[0])
        out[:, k, 2] = np.abs(sum(volts[:, i] * pins[i] for i in range(len(pins))))
    out[points.status != 0] = np.nan
    return out
