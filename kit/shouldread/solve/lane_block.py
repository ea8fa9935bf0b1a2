"""A block of lanes: the arrays that a search works on, side by side (numba).

``x`` (node or converter current, lane); ``fixed``, ``fixed_f`` what does not depend on the devices, at the x where it
was entered; ``A``, ``f`` with the devices; ``moved`` how far x went since; ``hold`` conductance of each node to ``ref``
(a charged node in a step of time); ``g`` conductance of each resistor and switch. ``held`` to ``level1``: rows of
devices, as lane_laws has them; ``w``: rows of one device at work.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shouldread.parts.laws.kernel import inlined, kernel

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

WORK = 15  # rows of ``w``


class Block(NamedTuple):
    """Working arrays of one block of lanes, in the order in which they lie in memory."""

    x: Floats
    moved: Floats
    hold: Floats
    ref: Floats
    held: Floats
    amps: Floats
    slopes: Floats
    fixed: Floats
    A: Floats
    fixed_f: Floats
    f: Floats
    g: Floats
    volts: Floats
    saturation: Floats
    nvt: Floats
    bv: Floats
    nbvt: Floats
    gummel: Floats
    level1: Floats
    w: Floats
    far: Flags
    cut: Flags
    some: Flags


@inlined
def _rows(m, ends, k):
    """Array k of those that lie in one piece of memory, each with its end."""
    return m[0 if k == 0 else ends[k - 1] : ends[k]]


@kernel
def new_block(net, plan, lanes):
    """Arrays for a block of lanes: all rows in one piece of memory, which the system then leaves in place for the next.

    Only ``x`` and what is not always filled before it is read are zero.
    """
    total, entries, diodes = plan.row.size, plan.entries + 1, net.diodes.shape[0]
    bipolars, fields = net.bipolars.shape[0], net.fields.shape[0]
    rows, ohmic = diodes + 2 * bipolars + 4 * fields, net.resistors.shape[0] + net.switches.shape[0] + 1
    more = rows + 2 * bipolars
    cleared = (total, total, total, total, rows, more, more)
    filled = (entries, entries, total, total, ohmic, rows, more, more, diodes, diodes, 6 * bipolars, 5 * fields)
    ends = np.cumsum(np.array(cleared + filled + (np.int64(WORK),)))
    m = np.empty((ends[-1], lanes))
    m[: ends[6]] = 0.0
    return Block(
        _rows(m, ends, 0),
        _rows(m, ends, 1),
        _rows(m, ends, 2),
        _rows(m, ends, 3),
        _rows(m, ends, 4),
        _rows(m, ends, 5),
        _rows(m, ends, 6),
        _rows(m, ends, 7),
        _rows(m, ends, 8),
        _rows(m, ends, 9),
        _rows(m, ends, 10),
        _rows(m, ends, 11),
        _rows(m, ends, 12),
        _rows(m, ends, 13),
        _rows(m, ends, 14),
        _rows(m, ends, 15),
        _rows(m, ends, 16),
        _rows(m, ends, 17),
        _rows(m, ends, 18),
        _rows(m, ends, 19),
        np.zeros(lanes, np.bool_),
        np.zeros(rows, np.bool_),
        np.zeros(more, np.bool_),
    )


@kernel
def block_at(X, net, plan):
    """A block with its lanes at volts X (L, N)."""
    b = new_block(net, plan, X.shape[0])
    for i in range(X.shape[0]):
        for k in range(X.shape[1]):
            b.x[k, i] = X[i, k]
    return b
