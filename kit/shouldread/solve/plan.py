"""The elimination program of one structure: which pivots in which order, and where each entry is kept.

Nodes that an ideal source ties share one unknown. Pivots that no device touches come first (they are eliminated once
for all steps of Newton's method); among themselves each kind goes by the least fill (Markowitz 1957, Management
Science 3:255). Pivots stay on the diagonal: what that loses in accuracy, the next step of the iteration corrects.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shouldread.parts.laws.kernel import kernel

Ints = NDArray[np.int64]


class Arrays(NamedTuple):
    """The element arrays of a net, in the order that kernels take them."""

    resistors: Ints
    currents: Ints
    gains: Ints
    constraints: Ints
    switches: Ints
    diodes: Ints
    bipolars: Ints
    fields: Ints
    rows: Ints
    tips: Ints


class Plan(NamedTuple):
    """``row`` and ``col``: where the balance and the volts of each node (and converter) are; the last is the bin.

    ``order``: pivots, the first ``early`` of them untouched by devices. ``at``: position of each entry; from
    ``split`` on they belong to late pivots. ``below`` and ``beside``: rows and columns that each pivot meets.
    """

    size: int
    row: Ints
    col: Ints
    order: Ints
    early: int
    at: NDArray[np.int32]
    split: int
    entries: int
    below_start: Ints
    below: Ints
    beside_start: Ints
    beside: Ints
    entry_row: Ints
    entry_col: Ints


@kernel
def places(size, constraints, rows, merged, row, col):
    """Fill in where each node's balance and volts are kept. Unknown ``size + r`` is the current of converter r."""
    total = row.size - 1
    for k in range(total + 1):
        row[k] = k
        col[k] = k
    row[0] = total
    col[0] = total
    for k in range(constraints.shape[0] - 1, -1, -1):
        child, parent = constraints[k, 0], constraints[k, 1]
        row[child] = row[parent]
        for r in range(rows.shape[0]):
            if rows[r, 6] == k:
                row[child] = size + r
        if merged and constraints[k, 2] < 0:
            col[child] = col[parent]
    for r in range(rows.shape[0]):
        if rows[r, 6] < 0:  # what it senses is gone, and it with it
            row[size + r] = total
            col[size + r] = total


@kernel
def _cross(seen, rows, cols, late, device):
    """Every one of these rows meets every one of these columns."""
    for a in rows:
        for b in cols:
            seen[a, b] = True
        if device:
            late[a] = True
    if device:
        for b in cols:
            late[b] = True


@kernel
def _pattern(net, row, col, seen, late):
    """Which entries can be other than zero, and which rows or columns a device touches."""
    yes, no = np.bool_(True), np.bool_(False)
    for k in range(net.resistors.shape[0]):
        a, b = net.resistors[k, 0], net.resistors[k, 1]
        _cross(seen, (row[a], row[b]), (col[a], col[b]), late, no)
    for k in range(net.switches.shape[0]):
        a, b = net.switches[k, 0], net.switches[k, 1]
        _cross(seen, (row[a], row[b]), (col[a], col[b]), late, no)
    for k in range(net.diodes.shape[0]):
        a, b = net.diodes[k, 0], net.diodes[k, 1]
        _cross(seen, (row[a], row[b]), (col[a], col[b]), late, yes)
    for k in range(net.gains.shape[0]):
        a, b, p, n = net.gains[k, 0], net.gains[k, 1], net.gains[k, 2], net.gains[k, 3]
        _cross(seen, (row[a], row[b]), (col[p], col[n]), late, no)
    for k in range(net.bipolars.shape[0]):
        c, b, e = net.bipolars[k, 0], net.bipolars[k, 1], net.bipolars[k, 2]
        _cross(seen, (row[c], row[b], row[e]), (col[c], col[b], col[e]), late, yes)
    for k in range(net.fields.shape[0]):
        d, g, s, b = net.fields[k, 0], net.fields[k, 1], net.fields[k, 2], net.fields[k, 3]
        _cross(seen, (row[d], row[s], row[b]), (col[d], col[g], col[s], col[b]), late, yes)
    for k in range(net.tips.shape[0]):
        a, b = net.tips[k, 0], net.tips[k, 1]
        _cross(seen, (row[a], row[b]), (col[a], col[b]), late, no)


@kernel
def _source_pattern(size, net, row, col, merged, seen, late):
    """The same for equations of ideal sources and converters."""
    yes, no = np.bool_(True), np.bool_(False)
    for k in range(net.constraints.shape[0]):
        child, parent, p, n = (
            net.constraints[k, 0],
            net.constraints[k, 1],
            net.constraints[k, 2],
            net.constraints[k, 3],
        )
        if p >= 0:
            _cross(seen, (child, child), (child, col[parent], col[p], col[n]), late, no)
        elif not merged:
            _cross(seen, (child, child), (child, col[parent]), late, no)
    for r in range(net.rows.shape[0]):
        line, own = net.rows[r], size + r
        if line[6] >= 0:
            _cross(seen, (own, row[net.constraints[line[6], 1]]), (own, own), late, yes)
            _cross(seen, (row[line[0]], row[line[1]]), (own, col[line[2]], col[line[3]]), late, yes)
            _cross(seen, (row[line[0]], row[line[1]]), (col[line[4]], col[line[5]]), late, yes)


@kernel
def _counts(seen, used, down, across):
    n = used.size
    for i in range(n):
        if used[i]:
            seen[i, i] = True
            for j in range(n):
                if used[j] and j != i and seen[i, j]:
                    across[i] += 1
                    down[j] += 1


@kernel
def _remove(seen, used, down, across, p, rows, cols):
    """Take pivot p out: what it leaves behind where its rows and columns cross."""
    n, nr, nc = used.size, 0, 0
    used[p] = False
    for j in range(n):
        if used[j]:
            if seen[j, p]:
                rows[nr] = j
                nr += 1
                across[j] -= 1
            if seen[p, j]:
                cols[nc] = j
                nc += 1
                down[j] -= 1
    for a in range(nr):
        for b in range(nc):
            i, j = rows[a], cols[b]
            if not seen[i, j]:
                seen[i, j] = True
                if i != j:
                    across[i] += 1
                    down[j] += 1


@kernel
def _ordered(seen, used, late, order):
    """Choose the pivots, early ones first, least fill first; ``seen`` gains what fills in. Returns how many are early."""
    n, early, count = used.size, 0, 0
    down, across = np.zeros(n, np.int64), np.zeros(n, np.int64)
    rows, cols = np.empty(n, np.int64), np.empty(n, np.int64)
    _counts(seen, used, down, across)
    for k in range(n):
        if used[k]:
            count += 1
            early += 0 if late[k] else 1
    for k in range(count):
        best, least = -1, 0
        for i in range(n):
            if used[i] and (k >= early or not late[i]):
                cost = down[i] * across[i]
                if best < 0 or cost < least:
                    best, least = i, cost
        order[k] = best
        _remove(seen, used, down, across, best, rows, cols)
    return early, count


@kernel
def _listed(seen, order, at, below_start, beside_start):
    """Number every entry in the order of its pivot, and list what each pivot meets."""
    count, trash = order.size, at.shape[0] - 1
    rank = np.full(trash + 1, -1, np.int64)
    for k in range(count):
        rank[order[k]] = k
    total = 0
    for k in range(count):
        p = order[k]
        for j in range(trash):
            if rank[j] > k:
                below_start[k + 1] += 1 if seen[j, p] else 0
                beside_start[k + 1] += 1 if seen[p, j] else 0
        below_start[k + 1] += below_start[k]
        beside_start[k + 1] += beside_start[k]
    below, beside = np.empty(below_start[count], np.int64), np.empty(beside_start[count], np.int64)
    for k in range(count):
        p, i, j = order[k], below_start[k], beside_start[k]
        at[p, p] = total
        total += 1
        for q in range(trash):
            if rank[q] > k and seen[q, p]:
                below[i] = q
                at[q, p] = total
                total, i = total + 1, i + 1
            if rank[q] > k and seen[p, q]:
                beside[j] = q
                at[p, q] = total
                total, j = total + 1, j + 1
    return below, beside, total


@kernel
def _entries(at, total):
    """Row and column of every entry; what has no place goes to the bin, the last."""
    entry_row, entry_col = np.zeros(total, np.int64), np.zeros(total, np.int64)
    for i in range(at.shape[0]):
        for j in range(at.shape[1]):
            if at[i, j] < 0:
                at[i, j] = total
            else:
                entry_row[at[i, j]] = i
                entry_col[at[i, j]] = j
    return entry_row, entry_col


@kernel
def planned(size, net, merged):
    """The plan of a net. ``merged``: nodes tied by ideal sources share an unknown (else each source has an equation)."""
    total = size + net.rows.shape[0]
    row, col = np.empty(total + 1, np.int64), np.empty(total + 1, np.int64)
    places(size, net.constraints, net.rows, merged, row, col)
    seen, late = np.zeros((total + 1, total + 1), np.bool_), np.zeros(total + 1, np.bool_)
    _pattern(net, row, col, seen, late)
    _source_pattern(size, net, row, col, merged, seen, late)
    used = np.zeros(total, np.bool_)
    for k in range(1, total):
        used[k] = col[k] == k
    order = np.empty(total, np.int64)
    early, count = _ordered(seen, used, late, order)
    order = order[:count].copy()
    at = np.full((total + 1, total + 1), -1, np.int32)
    below_start, beside_start = np.zeros(count + 1, np.int64), np.zeros(count + 1, np.int64)
    below, beside, entries = _listed(seen, order, at, below_start, beside_start)
    entry_row, entry_col = _entries(at, entries)
    split = entries
    if early < count:
        split = np.int64(at[order[early], order[early]])
    return Plan(
        size,
        row,
        col,
        order,
        early,
        at,
        split,
        entries,
        below_start,
        below,
        beside_start,
        beside,
        entry_row,
        entry_col,
    )
