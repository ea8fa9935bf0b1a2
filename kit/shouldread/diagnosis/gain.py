"""How much a reading would tell: the expected drop of entropy over groups, in bits."""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.mixture import bin_shares, edges_for

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

BINS = 48


def entropy(shares: Array) -> float:
    """Entropy of shares that sum to 1, in bits."""
    held = shares[shares > 0]
    return float(-(held * np.log2(held)).sum())


class Unforeseen(Protocol):
    """What a reading is that nothing foresees, in the unit of ``mean``."""

    def below(self, limits: Array) -> Array:
        """Share of it below each limit (E,)."""
        ...

    def slipped_below(self, limits: Array) -> Array:
        """The same of a slip of the hand."""
        ...


def expected_gain(
    mean: Array, variance: Array, weight: Array, group: Ints, groups: int, unforeseen: Unforeseen, slips: Array
) -> float:
    """Expected drop of entropy over ``groups`` (bits), of one candidate reading.

    K cells with their ``weight`` and ``group``; ``slips`` of the weight is of those who read wrong. What is left of 1 is
    "none of these", group number ``groups``. Binning can only lose information, so the result is a lower bound and
    never negative.
    """
    still = np.zeros_like(mean)
    edges = edges_for(mean, variance, still, BINS)
    joint = np.zeros((groups + 1, len(edges) + 1))
    np.add.at(joint, group, (weight - slips)[:, None] * bin_shares(mean, variance, still, edges))
    slipped = np.bincount(group, slips, groups + 1)
    joint += slipped[:, None] * _in_bins(unforeseen.slipped_below(edges))
    joint[groups] += max(0.0, 1.0 - float(weight.sum())) * _in_bins(unforeseen.below(edges))
    joint /= joint.sum()
    columns, rows = joint.sum(0), joint.sum(1)
    return max(0.0, entropy(rows) + entropy(columns) - entropy(joint.ravel()))


def _in_bins(below: Array) -> Array:
    return np.diff(np.concatenate([[0.0], below, [1.0]]))
