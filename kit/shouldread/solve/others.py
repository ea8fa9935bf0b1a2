"""Other stable answers of the same net: every transistor forced the other way and let go, every bit turned."""

import numpy as np

from shouldread.solve.net import Floats, Ints
from shouldread.solve.steady import (
    FLOATS,
    SOLVED,
    Rest,
    marched,
    resistances,
    rested_lanes,
    sources,
    unstable_direction,
)

MOST = 8  # answers that are looked for
APART = 1e-3  # V: by this much one node at least must differ
BASE_ON, GATE_ON = 0.75, 2.0  # V beyond emitter, and beyond the threshold, that turn a transistor on


def others(point: Rest) -> list[Rest]:
    """Other stable resting points, found by forcing each transistor and each switch from every point found."""
    net = point.net
    if len(net.bipolars) + len(net.fields) < 2 and not np.any(net.held < 0):
        return []
    held = resistances(point) < FLOATS
    found, looked = [point], 0
    while looked < len(found) and len(found) < MOST:
        for trial in _trials(found[looked], first=looked == 0):
            if trial.status == SOLVED and _new(trial, found, held) and unstable_direction(trial) is None:
                found.append(trial)
        looked += 1
    return found[1:]


def _new(trial: Rest, found: list[Rest], held: "np.ndarray") -> bool:
    return all(np.abs(trial.x - known.x)[held].max(initial=0.0) > APART for known in found)


def _trials(point: Rest, *, first: bool) -> list[Rest]:
    """Where the net comes to rest after one thing was forced."""
    nodes, targets = _forced(point)
    starts = np.tile(point.x, (len(nodes), 1))
    if first:
        more = _anywhere(point)
        starts = np.concatenate([starts, more])
        nodes, targets = np.append(nodes, np.zeros(len(more), np.int64)), np.append(targets, np.zeros(len(more)))
    told = marched(point, starts, nodes, targets) if len(starts) else []
    free = np.flatnonzero(point.net.held < 0)
    bits = np.tile(point.bits, (len(free), 1))
    bits[np.arange(len(free)), free] = 1 - bits[np.arange(len(free)), free]
    return told + (rested_lanes(point.net, np.tile(point.x, (len(free), 1)), point.slots, bits) if len(free) else [])


def _forced(point: Rest) -> tuple[Ints, Floats]:
    """The node that drives each transistor, and the volts that turn it the other way."""
    nodes, targets = [], []
    x = point.x
    for _, b, e, sign, _ in point.net.bipolars:
        nodes.append(b)
        on = sign * (x[b] - x[e]) > BASE_ON / 2
        targets.append(x[e] + (0.0 if on else sign * BASE_ON))
    for _, g, s, _, sign, o in point.net.fields:
        threshold = sign * point.slots[o]
        on = sign * (x[g] - x[s]) > threshold
        nodes.append(g)
        targets.append(x[s] + sign * (min(threshold, 0.0) - 0.5 if on else threshold + GATE_ON))
    return np.array(nodes, dtype=np.int64), np.array(targets, dtype=float)


def _anywhere(point: Rest) -> Floats:
    """Everything up, everything down, and some starts in between."""
    size = point.net.size
    top = max((abs(float(v)) for v in point.slots[sources(point.net)]), default=1.0) or 1.0
    phases = np.arange(size) * 0.6180339887498949  # golden section: spread evenly, whatever the size
    return np.stack([np.full(size, top), np.zeros(size), *(top * ((phases * (k + 1)) % 1.0) for k in range(4))])
