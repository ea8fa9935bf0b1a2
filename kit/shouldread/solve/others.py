"""Other stable answers of the same net: each transistor and gain forced the other way and let go, each bit turned."""

import numpy as np

from shouldread.solve.lane_march import Flags, march_lanes, near, pull_lanes
from shouldread.solve.lane_rest import contradicted, rest_lanes
from shouldread.solve.net import Floats, Ints
from shouldread.solve.steady import (
    FLOATS,
    SOLVED,
    Rest,
    resistances,
    sources,
    unstable_direction,
)

MOST = 8  # answers that are looked for
HELD, LOADED = 1e3, 1.0  # S: what forces one node, and all of them
LEAP = 2.0  # V: how far a node may move in a step that is followed by a longer one
BASE_ON, GATE_ON = 0.75, 2.0  # V beyond emitter, and beyond the threshold, that turn a transistor on


def others(point: Rest) -> list[Rest]:
    """Other stable resting points, found by forcing each transistor, gain and switch from every point found."""
    net = point.net
    if len(net.bipolars) + len(net.fields) < 2 and not len(net.gains) and not np.any(net.held < 0):
        return []
    held = resistances(point) < FLOATS
    found, looked = [point], 0
    while looked < len(found) and len(found) < MOST:
        for trial in _trials(found[looked], held, first=looked == 0):
            if trial.status == SOLVED and _new(trial, found, held) and unstable_direction(trial) is None:
                found.append(trial)
        looked += 1
    return found[1:]


def _new(trial: Rest, found: list[Rest], held: Flags) -> bool:
    return not any(near(trial.x[None], np.where(held, known.x, np.nan))[0] for known in found)


def _trials(point: Rest, held: Flags, *, first: bool) -> list[Rest]:
    """Where the net comes to rest after something was forced; what finds no rest at once is left out."""
    net = point.net
    pulls, targets = _pulled(point, first=first)
    x, bits = np.tile(point.x, (len(pulls), 1)), np.tile(point.bits, (len(pulls), 1))
    calm = pull_lanes(x, np.tile(point.slots, (len(x), 1)), bits, pulls, targets, net)
    x, bits = x[calm], bits[calm]
    over = contradicted(x, np.tile(point.slots, (len(x), 1)), bits, net) > 0
    also = over.any(axis=1)
    x, bits = np.concatenate([x, x[also]]), np.concatenate([bits, np.where(over, 1 - bits, bits)[also]])
    known = np.where(held, point.x, np.nan)
    march_lanes(x, np.tile(point.slots, (len(x), 1)), bits, net, LEAP, known)
    elsewhere = ~near(x, known)
    x, bits = x[elsewhere], bits[elsewhere]
    free = np.flatnonzero(net.held < 0)
    flipped = np.tile(point.bits, (len(free), 1))
    flipped[np.arange(len(free)), free] ^= 1
    x, bits = np.concatenate([x, np.tile(point.x, (len(free), 1))]), np.concatenate([bits, flipped])
    status = np.zeros(len(x), dtype=np.int64)
    rest_lanes(x, np.tile(point.slots, (len(x), 1)), bits, net, status)
    return [Rest(x[k], bits[k], SOLVED, point.slots, net) for k in np.flatnonzero(status == SOLVED)]


def _pulled(point: Rest, *, first: bool) -> tuple[Floats, Floats]:
    """What each trial pulls (S) and where to (V), each (trials, N)."""
    nodes, volts = _forced(point)
    size, at = point.net.size, point.net.plan.col[nodes]
    at, volts = at[at < size], volts[at < size]  # a node that an ideal source holds against ground cannot be moved
    lanes = np.arange(len(at))
    pulls, targets = np.zeros((len(at), size)), np.tile(point.x, (len(at), 1))
    pulls[lanes, at], targets[lanes, at] = HELD, volts
    if not first:
        return pulls, targets
    more = np.array([[_top(point)], [0.0]]) * np.ones(size)
    return np.concatenate([pulls, np.full(more.shape, LOADED)]), np.concatenate([targets, more])


def _forced(point: Rest) -> tuple[Ints, Floats]:
    """The node that drives each transistor, and the volts that turn it the other way; what gains drive, up and down."""
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
    top = _top(point)
    for k in np.setdiff1d(point.net.gains[:, :2], [0, *nodes]).tolist():
        nodes += [k, k]
        targets += [top, -top]
    return np.array(nodes, dtype=np.int64), np.array(targets, dtype=float)


def _top(point: Rest) -> float:
    """The most volts (or amps) of any source."""
    return max((abs(float(v)) for v in point.slots[sources(point.net)]), default=1.0) or 1.0
