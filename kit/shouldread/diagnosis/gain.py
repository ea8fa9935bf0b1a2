"""How much a reading would tell: the expected drop of entropy over groups, in bits."""

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


def expected_gain(
    mean: Array,
    variance: Array,
    rise: Array,
    weight: Array,
    group: Ints,
    groups: int,
    flat: tuple[float, float, float],
) -> float:
    """Expected drop of entropy over ``groups``, of one candidate reading.

    K stretches with their ``weight`` and ``group``; what is left of 1 is "none of these", group number ``groups``,
    whose reading lies even between ``flat[0]`` and ``flat[1]`` with the share ``flat[2]`` beyond. Binning can
    only lose information, so the result is a lower bound and never negative.
    """
    edges = edges_for(mean, variance, rise, BINS)
    joint = np.zeros((groups + 1, len(edges) + 1))
    np.add.at(joint, group, weight[:, None] * bin_shares(mean, variance, rise, edges))
    low, high, beyond = flat
    even = np.clip((edges - low) / max(high - low, 1e-12), 0.0, 1.0) * (1 - beyond)
    joint[groups] = max(0.0, 1.0 - float(weight.sum())) * np.diff(np.concatenate([[0.0], even, [1.0]]))
    total = joint.sum()
    joint /= total
    columns, rows = joint.sum(0), joint.sum(1)
    return max(0.0, entropy(rows) + entropy(columns) - entropy(joint.ravel()))
