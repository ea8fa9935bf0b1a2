"""Currents into the terminals of every primitive, from the node volts."""

import numpy as np

from shouldread.solve.devices import bipolar_amps, diode_amps, field_amps
from shouldread.solve.net import Net
from shouldread.solve.steady import Rest


def terminal_amps(point: Rest) -> dict[tuple[str, int], float]:
    """(primitive, element terminal) -> amps into it, in the order of the element's node columns."""
    net, x, s = point.net, point.x, point.slots
    out: dict[tuple[str, int], float] = {}
    balance = np.zeros(net.size)  # what the ideal sources must carry at each node
    for name, items in net.owners.items():
        for kind, k in items:
            if kind in "VB":
                continue
            nodes, amps = _element(net, kind, k, x, s, point.bits)
            for t, (node, i) in enumerate(zip(nodes, amps, strict=True)):
                out[name, t] = out.get((name, t), 0.0) + i
                balance[node] += i
    _bulk_substrates(net, x, balance)
    _ideal(point, out, balance)
    return out


def _ideal(point: Rest, out: dict[tuple[str, int], float], balance: np.ndarray) -> None:
    """Ideal sources carry what Kirchhoff's law leaves at their child's node; leaf first, as they are listed."""
    net, x, s = point.net, point.x, point.slots
    names = {k: name for name, items in net.owners.items() for kind, k in items if kind == "V"}
    rows = {
        int(r[6]): (name, r)
        for name, items in net.owners.items()
        for kind, k in items
        if kind == "B"
        for r in [net.rows[k]]
    }
    for k, r in enumerate(net.constraints):
        child, parent, sign = int(r[0]), int(r[1]), int(r[5])
        through = -balance[child]  # into the source at its child end
        first = through if sign > 0 else -through
        if k in rows:
            name, row = rows[k]
            base = row[7]
            vout = float(x[row[2]] - x[row[3]])
            vin = max(float(x[row[4]] - x[row[5]]), vout / s[base], s[base + 1])
            i = first * (max(vout, 0.0) / (s[base] * vin) - 1.0)
            out[name, 0], out[name, 1] = i, -i
            balance[row[0]] += i
            balance[row[1]] -= i
        out[names[k], 0], out[names[k], 1] = first, -first
        balance[parent] += balance[child]
        balance[child] = 0.0


def _bulk_substrates(net: Net, x: np.ndarray, balance: np.ndarray) -> None:
    for r in net.bipolars:
        under = r[0] if r[3] > 0 else r[1]
        balance[under] += 1e-12 * x[under]


def _element(
    net: Net, kind: str, k: int, x: np.ndarray, s: np.ndarray, bits: np.ndarray
) -> tuple[list[int], list[float]]:
    """Nodes and amps into each terminal of one element."""
    if kind == "R":
        a, b, slot = net.resistors[k]
        i = (x[a] - x[b]) / s[slot]
        return [a, b], [i, -i]
    if kind == "I":
        a, b, slot = net.currents[k]
        return [a, b], [s[slot], -s[slot]]
    if kind == "G":
        a, b, p, n, slot = net.gains[k]
        i = s[slot] * (x[p] - x[n])
        return [a, b], [i, -i]
    if kind == "S":
        a, b, _, _, base = net.switches[k]
        i = (x[a] - x[b]) / s[base + (2 if bits[k] else 3)]
        return [a, b], [i, -i]
    numbers = s[None]
    if kind == "D":
        row = net.diodes[k]
        i = diode_amps(x, numbers, row, row[2])
        return [row[0], row[1]], [i, -i]
    if kind == "Q":
        row = net.bipolars[k]
        ic, ib = bipolar_amps(x, numbers, row, row[4])
        return [row[0], row[1], row[2]], [ic, ib, -ic - ib]
    row = net.fields[k]
    through, to_s, to_d = field_amps(x, numbers, row, row[5])
    return [row[0], row[1], row[2], row[3]], [through - to_d, 0.0, -through - to_s, to_s + to_d]
