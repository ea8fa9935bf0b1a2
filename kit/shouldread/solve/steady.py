"""From power-up to the asked state, and whether nodes are held there."""

from dataclasses import dataclass

import numpy as np

from shouldread.solve.devices import AS_IS
from shouldread.solve.lane_block import new_block
from shouldread.solve.lane_laws import enter_numbers
from shouldread.solve.lane_march import march_lanes
from shouldread.solve.lane_rest import FAILED, RESTLESS, SOLVED, rest
from shouldread.solve.lane_slopes import TRACE, inverse_rows
from shouldread.solve.net import Floats, Ints, Net
from shouldread.solve.newton import assemble, full_plan
from shouldread.solve.ridges import by_diagonal, falls, on_axis

STEPS = 8  # of a rise from power-up
SLOW = 60  # of one that the first did not get through
LOST = 2  # steps in a row without a rest, after which only the last is tried
FLOATS = 1e8  # ohm: what holds a node more loosely than this does not hold it
ACTIVE = 1e-9  # S: a transconductance below it closes no loop


def sources(net: Net) -> Ints:
    """Slots of all independent sources: what rises at power-up."""
    rows = [int(r[4]) for r in net.constraints if r[2] < 0] + [int(r[2]) for r in net.currents]
    return np.array(rows, dtype=np.int64)


@dataclass(slots=True)
class Rest:
    """Where a net came to rest: node volts, switch bits, status, numbers."""

    x: Floats
    bits: Ints
    status: int
    slots: Floats
    net: Net

    def matrix(self) -> tuple[Floats, Floats]:
        """Slopes of the balances at this point, and the balances themselves (A): Kirchhoff's law to the last digit."""
        net = self.net
        plan = full_plan(net.size, net.arrays, True)
        block = new_block(net.arrays, plan, 1)
        block.x[: net.size, 0] = self.x
        enter_numbers(block, self.slots[None], net.arrays)
        for _ in range(len(net.rows) + 1):
            slopes, balance = assemble(block, self.slots[None], self.bits[None], net.arrays, plan, True, AS_IS)
            block.x[net.size : -1, 0] -= balance[net.size :]
        return slopes, balance


def carried(before: Rest | None, net: Net) -> Rest | None:
    """An earlier point on another structure: volts by node name, bits by switch; None where there was no rest."""
    if before is None or before.status == FAILED:
        return None
    if net.size == before.net.size and net.names == before.net.names and net.slot_of == before.net.slot_of:
        return before
    x = np.zeros(net.size)
    for name, k in net.index.items():
        if name in before.net.index:
            x[k] = before.x[before.net.index[name]]
    bits = net.first_bits.copy()
    old = dict(zip(before.net.switch_names, before.bits, strict=True))
    for k, name in enumerate(net.switch_names):
        bits[k] = old.get(name, bits[k])
    slots = net.slots.copy()
    for key, k in net.slot_of.items():
        if key in before.net.slot_of:
            slots[k] = before.slots[before.net.slot_of[key]]
    return Rest(x, bits, before.status, slots, net)


def rested(net: Net, x: Floats, slots: Floats, bits: Ints) -> Rest:
    """One lane from where it is to rest."""
    return rested_lanes(net, x[None], slots, bits[None])[0]


def rested_lanes(net: Net, x: Floats, slots: Floats, bits: Ints) -> list[Rest]:
    """Lanes of the same numbers from where they are to rest."""
    x, bits = x.copy(), bits.copy()
    status = rest(x, np.tile(slots, (len(x), 1)), bits, net)
    return [Rest(x[k], bits[k], int(status[k]), slots, net) for k in range(len(x))]


def power_up(net: Net, before: Rest | None = None) -> Rest:
    """The net's resting point, reached from ``before`` (None: everything at zero)."""
    slots, which = net.slots, sources(net)
    x, bits, old = np.zeros(net.size), net.first_bits.copy(), np.zeros(len(which))
    if before is not None:
        x = before.x.copy() if len(before.x) == net.size else x
        bits = before.bits.copy() if len(before.bits) == len(bits) else bits
        old = before.slots[which] if len(before.slots) == len(slots) else old
    first, turned = x.copy(), bits.copy()
    status = rise(x, turned, net, old, STEPS)
    if status == FAILED:
        x[:], turned = 0.0, net.first_bits.copy()
        status = rise(x, turned, net, np.zeros(len(which)), SLOW)
    point = Rest(x, turned, status, slots, net)
    if status == SOLVED and (direction := unstable_direction(point)) is not None:
        return _off_the_ridge(point, direction, Rest(first, bits, SOLVED, slots, net))
    if status == FAILED:
        return marched(Rest(first, bits, SOLVED, slots, net), first[None])[0]
    return point if status != RESTLESS else _at_rest_elsewhere(point)


def _at_rest_elsewhere(point: Rest) -> Rest:
    """Where a net rests whose switches go round from power-up, if it does once all of them are off, or all on."""
    n = len(point.bits)
    bits = np.array([[0] * n, [1] * n], dtype=point.bits.dtype).repeat(2, axis=0)
    starts = np.stack([point.x, np.zeros_like(point.x)] * 2)
    for found in rested_lanes(point.net, starts, point.slots, bits):
        if found.status == SOLVED and unstable_direction(found) is None:
            return found
    return point


def climb(old: Floats, new: Floats, steps: int) -> range:
    """The steps, of so many, in which sources go from the old numbers to the new: the last alone where none changes."""
    return range(steps if np.array_equal(old, new) else 1, steps + 1)


def rise(x: Floats, bits: Ints, net: Net, old: Floats, steps: int) -> int:
    """From the old numbers of the sources to the net's own in steps, at rest after each, in place. Returns a status.

    Where several steps in a row have no rest the last is tried at once, from the last rest.
    """
    which, part, status, lost = sources(net), net.slots[None].copy(), FAILED, 0
    good, held = x.copy(), bits.copy()
    for step in climb(old, net.slots[which], steps):
        if lost == LOST and step < steps:
            continue
        if lost == LOST:
            x[:], bits[:] = good, held
        part[0, which] = old + step / steps * (net.slots[which] - old)
        status = int(rest(x[None], part, bits[None], net)[0])
        lost = lost + 1 if status == FAILED else 0
        if status != FAILED:
            good, held = x.copy(), bits.copy()
    return status


def marched(point: Rest, starts: Floats) -> list[Rest]:
    """From each start (L, N) to rest as charged nodes would go."""
    x, net = starts.copy(), point.net
    x[:, 0] = 0.0
    march_lanes(x, np.tile(point.slots, (len(x), 1)), np.tile(point.bits, (len(x), 1)), net)
    return rested_lanes(net, x, point.slots, np.tile(point.bits, (len(x), 1)))


def core(point: Rest) -> tuple[Floats, Ints]:
    """Slopes over the nodes that devices touch, and their numbers; all other nodes follow at once."""
    matrix, _ = point.matrix()
    plan = point.net.plan
    late = plan.order[plan.early :]
    keep = late[(late < plan.size) & (plan.row[late] == late)]
    rest = np.setdiff1d(plan.order, keep)
    inner = matrix[np.ix_(keep, keep)]
    if not len(rest):
        return inner, keep
    follow = np.linalg.solve(matrix[np.ix_(rest, rest)], matrix[np.ix_(rest, keep)])
    return inner - matrix[np.ix_(keep, rest)] @ follow, keep


def unstable_direction(point: Rest) -> Floats | None:
    """The direction in which a metastable point is left, or None when it is stable.

    Any positive capacitances give the sign of the real eigenvalue that matters (that of the determinant); all
    eigenvalues are looked at, so that two unstable latches at once are seen too.
    """
    net = point.net
    if len(net.bipolars) + len(net.fields) + len(net.gains) + len(net.constraints) < 2:
        return None
    matrix, nodes = core(point)
    if len(nodes) < 2:
        return None
    scaled = by_diagonal(matrix)
    if not np.isfinite(scaled).all():  # a junction that a source without limit drives to kilovolts
        return None
    values = np.linalg.eigvals(scaled)
    if not falls(values).any():
        return None
    values, vectors = np.linalg.eig(scaled)
    real = np.where(on_axis(values), values.real, np.inf)
    direction = np.zeros(net.size)
    direction[nodes] = vectors[:, int(np.argmin(real))].real
    return direction / direction[int(np.argmax(np.abs(direction)))]


def _off_the_ridge(point: Rest, direction: Floats, start: Rest) -> Rest:
    """Where charged nodes come to rest from the start; from the exact middle, to one side of it."""
    moved = marched(start, start.x[None])[0]
    for _ in range(6):
        if moved.status == SOLVED:
            ridge = unstable_direction(moved)
            if ridge is None:
                return moved
            point, direction = moved, ridge
        sides = marched(point, np.stack([point.x + 0.02 * direction, point.x - 0.02 * direction]))
        moved = sides[0] if sides[0].status == SOLVED else sides[1]
    return point


def resistances(point: Rest) -> Floats:
    """Small-signal ohms from every node to ground (inf where nothing holds it)."""
    net = point.net
    pairs = np.column_stack([np.arange(net.size), np.zeros(net.size, dtype=np.int64)])
    rows = inverse_rows(point.x[None], point.slots[None], point.bits[None], pairs, net, TRACE)[0]
    ohms: Floats = np.abs(np.diagonal(rows[:, : net.size]))
    return np.where(np.isfinite(ohms), ohms, np.inf)


__all__ = [
    "FAILED",
    "FLOATS",
    "RESTLESS",
    "SOLVED",
    "Rest",
    "carried",
    "climb",
    "core",
    "marched",
    "power_up",
    "resistances",
    "rested",
    "rested_lanes",
    "sources",
    "unstable_direction",
]
