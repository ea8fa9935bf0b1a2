"""Which of many lanes stand on no ridge for sure: the eigenvalues of all their slopes at once."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from shouldread.solve.lane_block import block_at
from shouldread.solve.lane_laws import enter_numbers
from shouldread.solve.lane_slopes import linearise
from shouldread.solve.net import Floats, Ints, Net

LANES = 64
AXIS = 1e-9  # of an eigenvalue: what lies this near to the real axis is on it


def surely_stable(x: Floats, slots: Floats, bits: Ints, net: Net) -> NDArray[np.bool_]:
    """Which lanes (L, N) are left in no direction, whatever charge their nodes hold; of the others more is to be asked."""
    pieces = [slice(low, low + LANES) for low in range(0, len(x), LANES)]
    return np.concatenate([_stable(x[some], slots[some], bits[some], net) for some in pieces])


def _stable(x: Floats, slots: Floats, bits: Ints, net: Net) -> NDArray[np.bool_]:
    out = np.zeros(len(x), dtype=np.bool_)
    try:
        inner = _cores(x, slots, bits, net)
        if inner.shape[1] < 2:
            return ~out
        scaled = by_diagonal(inner)
        sane = np.isfinite(scaled).all(axis=(1, 2))
        out[sane] = ~falls(np.linalg.eigvals(scaled[sane])).any(axis=1)
    except np.linalg.LinAlgError:  # one that is singular spoils them all: each is asked by itself
        out[:] = False
    return out


def by_diagonal(slopes: Floats) -> Floats:
    """Slopes (..., M, M) in units of each node's own, as though its capacitance went with it."""
    own: Floats = np.abs(np.diagonal(slopes, axis1=-2, axis2=-1))
    return slopes / np.maximum(own, 1e-15)[..., None]


def falls(values: NDArray[np.inexact[Any]]) -> NDArray[np.bool_]:
    """Which eigenvalues belong to a direction in which a point is left, without swinging."""
    return np.asarray((values.real < -AXIS) & on_axis(values))


def on_axis(values: NDArray[np.inexact[Any]]) -> NDArray[np.bool_]:
    """Which eigenvalues are real."""
    return np.asarray(np.abs(values.imag) < AXIS * np.abs(values))


def _cores(x: Floats, slots: Floats, bits: Ints, net: Net) -> Floats:
    """Slopes (L, M, M) over the nodes that devices touch and no source ties."""
    plan = net.plan
    b = block_at(x, net.arrays, plan)
    enter_numbers(b, slots, net.arrays)
    linearise(b, slots, bits, net.arrays, plan, True, plan.early)
    late = plan.order[plan.early :]
    place = np.zeros(plan.row.size, dtype=np.int64)
    place[late] = np.arange(len(late))
    entries = slice(plan.split, plan.entries)
    dense = np.zeros((len(x), len(late), len(late)))
    dense[:, place[plan.entry_row[entries]], place[plan.entry_col[entries]]] = b.A[entries].T
    keep = (late < plan.size) & (plan.row[late] == late)
    inner: Floats = dense[:, keep][:, :, keep]
    if keep.all() or not np.isfinite(dense).all():
        return inner
    follow = np.linalg.solve(dense[:, ~keep][:, :, ~keep], dense[:, ~keep][:, :, keep])
    return inner - dense[:, keep][:, :, ~keep] @ follow
