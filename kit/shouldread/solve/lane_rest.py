"""Lanes at rest, switch bits and all: bits are decided outside Newton's method, so that memory is explicit (numba)."""

import numpy as np

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.lane_march import march_lanes
from shouldread.solve.lane_newton import settle_block
from shouldread.solve.lane_stamps import new_block
from shouldread.solve.net import Floats, Ints, Net
from shouldread.solve.newton import settle

SOLVED, FAILED = 0, 1
RESTLESS = 2  # no pattern of bits agrees with what it brings about: it never comes to rest
UNDER_WAY, SETTLED = 3, 4  # of lanes that are not done yet
UNTRIED, MARCHED = 5, 6  # what was done for a lane that does not settle
LANES = 64  # solved together


@kernel
def wrong_bit(b, S, bits, net, held, i):
    """The switch whose bit its control volts contradict most in a lane (in units of volts), or -1."""
    worst, most = -1, 0.0
    for k in range(net.switches.shape[0]):
        if held[k] >= 0:
            continue
        v, base = b.x[net.switches[k, 2], i] - b.x[net.switches[k, 3], i], net.switches[k, 4]
        low, high = S[i, base] - S[i, base + 1], S[i, base] + S[i, base + 1]
        over = v - high if bits[i, k] == 0 else low - v
        if over > most:
            worst, most = k, over
    return worst


@kernel
def _seen_before(seen, bits, turn, i):
    """Whether a lane had this pattern of bits already; else it is noted."""
    for before in range(turn):
        same = True
        for k in range(bits.shape[1]):
            if seen[before, i, k] != bits[i, k]:
                same = False
                break
        if same:
            return True
    for k in range(bits.shape[1]):
        seen[turn, i, k] = bits[i, k]
    return False


@kernel
def _turn(b, S, bits, net, held, seen, turn, i):
    """Turn a lane's most contradicted bit. Returns SOLVED when there is none, RESTLESS for a pattern seen before."""
    k = wrong_bit(b, S, bits, net, held, i)
    if k < 0:
        return SOLVED
    if turn + 1 == seen.shape[0] or _seen_before(seen, bits, turn, i):
        return RESTLESS
    bits[i, k] = 1 - bits[i, k]
    return UNDER_WAY


@kernel
def rest_lanes(X, S, bits, net, plan, held, status):
    """Every lane from its own start to rest, in place: settle, turn its most contradicted bit, until none is.

    A lane that does not settle stays where it last did, FAILED. One that comes in SETTLED is so at its start.
    """
    size, n = X.shape[1], bits.shape[1]
    for low in range(0, X.shape[0], LANES):
        high = min(low + LANES, X.shape[0])
        b = new_block(net, plan, high - low)
        b.x[:size] = X[low:high].T
        done, calm = np.zeros(high - low, np.bool_), np.zeros(high - low, np.bool_)
        seen, own, told = np.zeros((4 * n + 4, high - low, n), np.int8), bits[low:high], status[low:high]
        for k in range(n):
            if held[k] >= 0:
                own[:, k] = held[k]
        turn = 0
        while not done.all():
            settle_block(b, S[low:high], own, net, plan, done, calm)
            for i in range(high - low):
                if done[i]:
                    continue
                if told[i] == SETTLED:
                    b.x[:size, i] = X[low + i]
                elif not calm[i]:
                    told[i], done[i] = FAILED, True
                    continue
                X[low + i] = b.x[:size, i]
                told[i] = _turn(b, S[low:high], own, net, held, seen, turn, i)
                done[i] = told[i] != UNDER_WAY
            turn += 1


def rest(x: Floats, slots: Floats, bits: Ints, net: Net) -> Ints:
    """All lanes (L, N) to rest, in place; returns SOLVED, FAILED or RESTLESS of each (L,).

    A lane that Newton's method does not settle goes on as charged nodes would; where that does not help either, by
    full pivoting and a shunt that is taken away step by step. A lane that comes back to bits it was helped to settle
    with never comes to rest.
    """
    status = np.zeros(len(x), dtype=np.int64)
    rest_lanes(x, slots, bits, net.arrays, net.plan, net.held, status)
    tried: dict[tuple[int, bytes], int] = {}
    stuck = np.flatnonzero(status == FAILED)
    while len(stuck):
        keys = [(int(k), bits[k].tobytes()) for k in stuck]
        helped = np.array([tried.get(key, UNTRIED) for key in keys])
        status[stuck[helped == SETTLED]] = RESTLESS
        stuck, march = stuck[helped != SETTLED], helped[helped != SETTLED] == UNTRIED
        some, numbers, turned = x[stuck], slots[stuck], bits[stuck]
        told = np.full(len(stuck), FAILED, dtype=np.int64)
        _march_some(some, numbers, turned, np.flatnonzero(march), net)
        for k in np.flatnonzero(~march).tolist():
            if settle(some[k], numbers[k : k + 1], turned[k : k + 1], net.arrays) == SOLVED:
                told[k] = SETTLED
        again, before = march | (told == SETTLED), some.copy()
        rest_lanes(some, numbers, turned, net.arrays, net.plan, net.held, told)
        for k, lane in enumerate(stuck):
            calm = told[k] != FAILED or not march[k] or np.any(some[k] != before[k])
            tried[int(lane), bits[lane].tobytes()] = SETTLED if calm else MARCHED
        x[stuck], bits[stuck], status[stuck] = some, turned, told
        stuck = stuck[again & (told == FAILED)]
    return status


def _march_some(x: Floats, slots: Floats, bits: Ints, which: Ints, net: Net) -> None:
    """Some of the lanes as charged nodes would go, in place."""
    if len(which):
        moved, free = x[which], np.zeros(len(which), dtype=np.int64)
        march_lanes(moved, slots[which], bits[which], free, np.zeros(len(which)), net.arrays, net.plan, free > 0)
        x[which] = moved
