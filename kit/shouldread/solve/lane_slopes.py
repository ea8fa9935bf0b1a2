"""Rows of the inverse, and how volts move with each number, over many lanes at once (numba)."""

import numpy as np

from shouldread.parts.laws.kernel import kernel
from shouldread.solve.lu import factor, substitute_transposed
from shouldread.solve.net import Floats, Ints, Net
from shouldread.solve.newton import assemble
from shouldread.solve.stamps import devices, width

STEP = 1e-6  # relative, of a number of one device: its law is evaluated, nothing is solved again
RESISTOR, CURRENT, GAIN, SWITCH, DIODE, BIPOLAR, FIELD, SOURCE, OTHER = range(9)


def homes_of(net: Net, slots: Ints) -> Ints:
    """For each slot the sort of element it belongs to and its number there (P, 2)."""
    home = np.full((len(net.slots), 2), (OTHER, 0), dtype=np.int64)
    for sort, rows, first, many in (
        (RESISTOR, net.resistors, 2, 1),
        (CURRENT, net.currents, 2, 1),
        (GAIN, net.gains, 4, 1),
        (SWITCH, net.switches, 4, 4),
        (DIODE, net.diodes, 2, 6),
        (BIPOLAR, net.bipolars, 4, 15),
        (FIELD, net.fields, 5, 9),
        (SOURCE, net.constraints, 4, 1),
    ):
        for k in range(many):
            home[rows[:, first] + k, 0] = sort
            home[rows[:, first] + k, 1] = np.arange(len(rows))
    return home[slots]


@kernel
def inverse_lanes(X, S, B, pick, net, out):
    """out (L, K, N): rows of the inverse at each lane's resting point, summed by ``pick`` (K, N); nan if singular."""
    n = X.shape[1]
    A, f, work = np.zeros((n, n)), np.zeros(n), np.zeros(14)
    order = np.zeros(n, np.int64)
    held = np.zeros(width(net[5], net[6], net[7]))
    row = np.zeros(n)
    for lane in range(X.shape[0]):
        assemble(X[lane], S[lane], B[lane], False, held, 0.0, X[lane], net, A, f, work)
        if factor(A, order) == 0.0:
            out[lane] = np.nan
            continue
        for k in range(pick.shape[0]):
            row[:] = pick[k]
            substitute_transposed(A, order, row)
            out[lane, k] = row
            out[lane, k, 0] = 0.0


@kernel
def _device(x, s, net, sort, number, A, f, held, work):
    """Balance of one device alone, added to f (its slopes go to A and are not used)."""
    none = net[5][:0]
    if sort == DIODE:
        devices(x, s, held, False, net[5][number : number + 1], net[6][:0], net[7][:0], A, f, work)
    elif sort == BIPOLAR:
        devices(x, s, held, False, none, net[6][number : number + 1], net[7][:0], A, f, work)
    else:
        devices(x, s, held, False, none, net[6][:0], net[7][number : number + 1], A, f, work)


@kernel
def _folded(x, s, constraints, rows, f):
    """Pass a change of balances on as ideal sources do: a child's goes to its parent, a converter's input follows."""
    for k in range(constraints.shape[0]):
        child, parent = constraints[k, 0], constraints[k, 1]
        for r in range(rows.shape[0]):
            if rows[r, 6] == k:
                base = rows[r, 7]
                vin, vout = x[rows[r, 4]] - x[rows[r, 5]], x[rows[r, 2]] - x[rows[r, 3]]
                ratio = 0.0
                if vout > 0.0:
                    ratio = min(1.0, vout / (s[base] * max(vin, s[base + 1])))
                i = -float(constraints[k, 5]) * f[child] * (ratio - 1.0)
                f[rows[r, 0]] += i
                f[rows[r, 1]] -= i
        f[parent] += f[child]
        f[child] = 0.0


@kernel
def _slope(x, s, bits, slot, sort, number, net, A, f, other, held, work):
    """d balance / d slot in f, at one resting point."""
    f[:] = 0.0
    if sort == RESISTOR:
        a, b = net[0][number, 0], net[0][number, 1]
        g = -(x[a] - x[b]) / (s[slot] * s[slot])
        f[a] += g
        f[b] -= g
    elif sort == CURRENT:
        f[net[1][number, 0]] += 1.0
        f[net[1][number, 1]] -= 1.0
    elif sort == GAIN:
        v = x[net[2][number, 2]] - x[net[2][number, 3]]
        f[net[2][number, 0]] += v
        f[net[2][number, 1]] -= v
    elif sort == SWITCH:
        row = net[4][number]
        if slot == row[4] + (2 if bits[number] else 3):
            g = -(x[row[0]] - x[row[1]]) / (s[slot] * s[slot])
            f[row[0]] += g
            f[row[1]] -= g
    elif sort == SOURCE:
        row = net[3][number]
        over = 1.0 if row[2] < 0 else x[row[2]] - x[row[3]]
        f[row[0]] = -float(row[5]) * over
        return
    else:
        was = s[slot]
        step = STEP * (abs(was) if was != 0.0 else 1.0)
        other[:] = 0.0
        s[slot] = was + step
        if sort == OTHER:
            assemble(x, s, bits, False, held, 0.0, x, net, A, f, work)
        else:
            _device(x, s, net, sort, number, A, f, held, work)
        s[slot] = was - step
        if sort == OTHER:
            assemble(x, s, bits, False, held, 0.0, x, net, A, other, work)
        else:
            _device(x, s, net, sort, number, A, other, held, work)
        s[slot] = was
        for k in range(f.size):
            f[k] = (f[k] - other[k]) / (2.0 * step)
        if sort == OTHER:
            f[0] = 0.0
            return
    f[0] = 0.0
    _folded(x, s, net[3], net[8], f)
    f[0] = 0.0


@kernel
def slope_lanes(X, S, B, slots, homes, inverse, net, out):
    """out (L, K, P): change of each picked pair's volts per unit of each slot; ``inverse`` (L, K, N) is their rows."""
    n = X.shape[1]
    A, f, other = np.zeros((n, n)), np.zeros(n), np.zeros(n)
    held, work = np.zeros(width(net[5], net[6], net[7])), np.zeros(14)
    s, touched = np.zeros(S.shape[1]), np.zeros(n, np.int64)
    for lane in range(X.shape[0]):
        s[:] = S[lane]
        for p in range(slots.shape[0]):
            _slope(X[lane], s, B[lane], slots[p], homes[p, 0], homes[p, 1], net, A, f, other, held, work)
            many = 0
            for j in range(1, n):
                if f[j] != 0.0:
                    touched[many] = j
                    many += 1
            for k in range(inverse.shape[1]):
                total = 0.0
                for m in range(many):
                    total -= inverse[lane, k, touched[m]] * f[touched[m]]
                out[lane, k, p] = total


def inverse_rows(x: Floats, slots: Floats, bits: Ints, pick: Floats, net: tuple[Ints, ...]) -> Floats:
    """Rows of the inverse of every lane (L, K, N): volts of each picked pair per ampere put into each node."""
    out = np.empty((len(x), len(pick), x.shape[1]))
    inverse_lanes(x, slots, bits, pick, net, out)
    return out


def slopes(
    x: Floats, slots: Floats, bits: Ints, which: Ints, homes: Ints, inverse: Floats, net: tuple[Ints, ...]
) -> Floats:
    """Change of each picked pair's volts per unit of each of the slots ``which`` (L, K, P)."""
    out = np.empty((len(x), inverse.shape[1], len(which)))
    slope_lanes(x, slots, bits, which, homes, inverse, net, out)
    return out
