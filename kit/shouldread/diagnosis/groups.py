"""Groups: faults that no offered reading can tell apart, found once from what they read, not from what was read."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

MOST = 60  # hypotheses that readings are compared for at most
_LIVE = 1e-4  # share of a hypothesis that readings are still compared for
_FEW = 100  # hypotheses up to which all are grouped by every offered reading, however unlikely
ALIKE = 0.45  # chance of naming the wrong one of two, from one reading, from which two count as alike


def in_play(share: Array) -> Ints:
    """Numbers (ascending) of the hypotheses that readings are still compared for: the leading ones that count."""
    order = np.argsort(-share, kind="stable")[:MOST]
    return np.asarray(np.sort(order[share[order] > _LIVE]))


def to_group(share: Array) -> NDArray[np.bool_]:
    """Which hypotheses (H,) are grouped by every offered reading: those in play, all of them where they are few."""
    out = np.full(len(share), len(share) <= _FEW)
    out[in_play(share)] = True
    return out


def told_alike(differ: Array, alike: float = ALIKE) -> NDArray[np.bool_]:
    """Which pairs of faults one reading leaves alike, by the sum of absolute differences of their laws of it.

    They are alike when the Bayes error of telling them apart, half of what their laws have in common, exceeds ``alike``.
    """
    return np.asarray(0.5 - differ / 4 > alike)


def together_of(left: Ints, right: Ints, count: int) -> NDArray[np.bool_]:
    """The table (count, count) of who is alike, from the pairs that are."""
    together = np.eye(count, dtype=bool)
    together[left, right] = together[right, left] = True
    return together


def groups_of(together: NDArray[np.bool_]) -> Ints:
    """Group number of each fault, numbered in order of first members: chains of alike faults are one group.

    Joining chains, rather than filling groups in some order, makes the groups independent of that order.
    """
    count = len(together)
    number = np.full(count, -1, dtype=np.intp)
    made = 0
    for start in range(count):
        if number[start] >= 0:
            continue
        edge = np.zeros(count, dtype=bool)
        edge[start] = True
        reached = edge.copy()
        while edge.any():
            edge = together[edge].any(0) & ~reached
            reached |= edge
        number[reached] = made
        made += 1
    return number
