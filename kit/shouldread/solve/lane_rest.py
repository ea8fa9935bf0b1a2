"""Lanes at rest, switch bits and all: bits are decided outside Newton's method, so that memory is explicit (numba)."""

import numpy as np

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.lane_block import block_at
from shouldread.solve.lane_march import march_lanes
from shouldread.solve.lane_newton import settle_block
from shouldread.solve.net import Floats, Ints, Net
from shouldread.solve.newton import settle

SOLVED, FAILED = 0, 1
RESTLESS = 2  # no pattern of bits agrees with what it brings about: it never comes to rest
UNDER_WAY, SETTLED = 3, 4  # of lanes that are not done yet
UNTRIED, MARCHED = 5, 6  # what was done for a lane that does not settle
MOST = 60  # steps of Newton's method from where a lane stands
LANES = 128  # solved together
FEW = 8  # one in so many of them is not waited for
ENOUGH = 0.5  # of them at rest, and the others go on by themselves


@kernel
def wrong_bit(x, S, bits, net, held, i):
    """The switch whose bit its control volts contradict most in a lane (in units of volts), or -1."""
    worst, most = -1, 0.0
    for k in range(net.switches.shape[0]):
        if held[k] >= 0:
            continue
        v, base = x[net.switches[k, 2], i] - x[net.switches[k, 3], i], net.switches[k, 4]
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
            if seen[i, before, k] != bits[i, k]:
                same = False
                break
        if same:
            return True
    for k in range(bits.shape[1]):
        seen[i, turn, k] = bits[i, k]
    return False


@kernel
def _turn(x, S, bits, net, held, seen, turn, i):
    """Turn a lane's most contradicted bit. Returns SOLVED when there is none, RESTLESS for a pattern seen before."""
    k = wrong_bit(x, S, bits, net, held, i)
    if k < 0:
        return SOLVED
    if turn + 1 == seen.shape[1] or _seen_before(seen, bits, turn, i):
        return RESTLESS
    bits[i, k] = 1 - bits[i, k]
    return UNDER_WAY


@kernel
def turn_lanes(x, X, S, bits, net, held, seen, turn, calm, slow, done, told):
    """After a search to ``x`` (rows, lane): which lanes are at rest, then in X (L, N); the bits of the others turned.

    ``told``: what is known of each.
    One that was too slow begins again where it did.
    """
    for i in range(X.shape[0]):
        if done[i]:
            continue
        if slow[i] and told[i] != SETTLED:
            x[: X.shape[1], i] = X[i]
            continue
        if told[i] == SETTLED:
            x[: X.shape[1], i] = X[i]
        elif not calm[i]:
            told[i], done[i] = FAILED, True
            continue
        X[i] = x[: X.shape[1], i]
        told[i] = _turn(x, S, bits, net, held, seen, turn, i)
        done[i] = told[i] != UNDER_WAY


@kernel
def rest_block(X, S, bits, net, plan, held, seen, turn, done, told):
    """Lanes on until most are at rest: their points, numbers, bits, the bits that each had, which are at rest, what is
    known of each, in place. Returns the turns so far."""
    lanes = X.shape[0]
    b = block_at(X, net, plan)
    calm, slow = np.zeros(lanes, np.bool_), np.zeros(lanes, np.bool_)
    for k in range(held.size):
        if held[k] >= 0:
            bits[:, k] = held[k]
    while np.count_nonzero(done) <= lanes * ENOUGH:
        settle_block(b, S, bits, net, plan, np.int64(MOST), done, calm, slow, lanes // FEW)
        turn_lanes(b.x, X, S, bits, net, held, seen, turn, calm, slow, done, told)
        turn += 1
    return turn


def rest_lanes(x: Floats, slots: Floats, bits: Ints, net: Net, status: Ints) -> None:
    """Every lane from its own start to rest, in place: settle, turn its most contradicted bit, until none is.

    A lane that does not settle stays where it last did, FAILED. One that comes in SETTLED is so at its start.
    Once most lanes of a block are at rest its others go on with those of the other blocks.
    """
    seen, turn = np.full((len(x), 4 * bits.shape[1] + 4, bits.shape[1]), -1, np.int8), 0
    left = np.arange(len(x))
    while len(left):
        done, turns = np.zeros(len(left), np.bool_), []
        for low in range(0, len(left), LANES):
            now = slice(low, low + LANES)
            which = now if len(left) == len(x) else left[now]
            some = x[which], slots[which], bits[which], seen[which], status[which]
            points, numbers, own, had, told = some
            turns.append(rest_block(points, numbers, own, net.arrays, net.plan, net.held, had, turn, done[now], told))
            if len(left) < len(x):
                x[which], _, bits[which], seen[which], status[which] = some
        left, turn = left[~done], max(turns)


def rest(x: Floats, slots: Floats, bits: Ints, net: Net) -> Ints:
    """All lanes (L, N) to rest, in place; returns SOLVED, FAILED or RESTLESS of each (L,).

    A lane that Newton's method does not settle goes on as charged nodes would; where that does not help either, by
    full pivoting and a shunt that is taken away step by step. One that has no balance runs away until that turns a
    switch; it goes on from where it began, for the switch turns as soon as it can. A lane that comes back to bits it
    was helped to settle with never comes to rest.
    """
    status, first = np.zeros(len(x), dtype=np.int64), x.copy()
    rest_lanes(x, slots, bits, net, status)
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
        again = march.copy()
        for k in np.flatnonzero(~march).tolist():
            told[k] = _settled(some[k], numbers[k : k + 1], turned[k : k + 1], net)
            again[k] = told[k] != FAILED
            if not again[k] and _turn_away(some[k], numbers[k], turned[k], net, tried, int(stuck[k])):
                some[k], again[k] = first[stuck[k]], True
        before = some.copy()
        rest_lanes(some, numbers, turned, net, told)
        for k, lane in enumerate(stuck):
            calm = told[k] != FAILED or not march[k] or np.any(some[k] != before[k])
            tried[int(lane), bits[lane].tobytes()] = SETTLED if calm else MARCHED
        x[stuck], bits[stuck], status[stuck] = some, turned, told
        stuck = stuck[again & (told == FAILED)]
    return status


def _settled(x: Floats, slots: Floats, bits: Ints, net: Net) -> int:
    """One lane by full pivoting, in place when that settles it."""
    there = x.copy()
    if not settle(there, slots, bits, net.arrays):
        return FAILED
    x[:] = there
    return SETTLED


def contradicted(x: Floats, slots: Floats, bits: Ints, net: Net) -> Floats:
    """By how many volts (L, switches) the control of each switch contradicts its bit in each lane; 0 where it does not."""
    base = net.switches[:, 4]
    control = x[:, net.switches[:, 2]] - x[:, net.switches[:, 3]]
    middle, half = slots[:, base], slots[:, base + 1]
    over = np.where(bits == 0, control - middle - half, middle - half - control)
    return np.where(net.held >= 0, 0.0, np.maximum(over, 0.0))


def _turn_away(x: Floats, slots: Floats, bits: Ints, net: Net, tried: dict[tuple[int, bytes], int], lane: int) -> bool:
    """Turn the switch that a lane's run contradicts most, in place, unless that was tried before."""
    over, turned = contradicted(x[None], slots[None], bits[None], net)[0], bits.copy()
    if not np.any(over):
        return False
    turned[np.argmax(over)] ^= 1
    if (lane, turned.tobytes()) in tried:
        return False
    bits[:] = turned
    return True


def _march_some(x: Floats, slots: Floats, bits: Ints, which: Ints, net: Net) -> None:
    """Some of the lanes as charged nodes would go, in place."""
    if len(which):
        moved = x[which]
        march_lanes(moved, slots[which], bits[which], net)
        x[which] = moved
