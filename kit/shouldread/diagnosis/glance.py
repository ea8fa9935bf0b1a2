"""At a glance: which faults the volts of one state surely tell apart, by the boxes that a verdict was made of."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.groups import together_of, told_alike
from shouldread.diagnosis.laws import laws_at
from shouldread.diagnosis.mixture import edges_for
from shouldread.diagnosis.panel import Panel, Sheet
from shouldread.diagnosis.scale import Scale
from shouldread.diagnosis.spots import STILL
from shouldread.diagnosis.stretches import Stretches, stretches

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]
EDGES = 48  # limits that volts are held against


def alike_at_a_glance(panel: Panel, rows: Sequence[int], count: int) -> Flags:
    """Which of so many suspects (numbers 1 to ``count``) the rows of a panel do not tell apart at a glance (count, count)."""
    numbers = np.arange(1, count + 1)
    sheet = panel.sheet(numbers)
    same = _the_same(sheet, rows, panel.scale, numbers)
    left, right = np.nonzero(np.triu(~same, 1))
    for row in _telling(rows, sheet):
        kept = told_alike(_at_least(stretches(panel, row, numbers), left, right))
        left, right = left[kept], right[kept]
    return same | together_of(left, right, count)


def _telling(rows: Sequence[int], sheet: Sheet) -> list[int]:
    """Rows of a sheet, those first that the most boxes move: they leave fewer pairs to the others."""
    mean = sheet.boxes.mean[:, rows]
    moved = np.abs(mean - np.median(mean, axis=0)) > 3 * np.sqrt(
        (sheet.loads[:, rows] ** 2).sum(2) + sheet.loose[:, rows]
    )
    return [rows[k] for k in np.argsort(-moved.sum(0), kind="stable").tolist()]


def _the_same(sheet: Sheet, rows: Sequence[int], scale: Scale, numbers: Ints) -> Flags:
    """Which pairs of hypotheses, all of one value at each row, read the same: they do nothing, or the same thing."""
    boxes, owner = sheet.boxes, sheet.boxes.region.owner
    mean, loads, loose = boxes.mean[:, rows], sheet.loads[:, rows], sheet.loose[:, rows]
    deviation = np.sqrt((loads**2).sum(2) + loose + scale.variance(mean))
    still = (np.abs(boxes.slope[:, rows]).sum(2) < STILL * deviation).all(1) & boxes.told
    alone = np.flatnonzero(still & (owner > 0) & (np.bincount(owner)[owner] == 1))
    mean, deviation = mean[alone], deviation[alone]
    off = np.abs(mean[:, None] - mean) / np.minimum(deviation[:, None], deviation)
    off += np.abs(np.log(deviation[:, None] / deviation))
    out = np.eye(len(numbers), dtype=bool)
    at = np.searchsorted(numbers, owner[alone])
    out[np.ix_(at, at)] |= (off < STILL).all(2)
    return out


def _at_least(at: Stretches, left: Ints, right: Ints) -> Array:
    """The least by which pairs of hypotheses, all of them at a row, differ there, by what lies between some limits.

    Twice Kuiper's distance, which is no more than the sum of absolute differences of two laws.
    """
    if not len(left):
        return np.zeros(0)
    live = np.zeros(int(at.owner[-1]), dtype=bool)
    live[left] = live[right] = True
    some = at.of(np.flatnonzero(live) + 1)
    told, place = some.told, np.cumsum(live) - 1
    edges = edges_for(some.mean[told], some.variance[told], some.rise[told], EDGES) if told.any() else np.zeros(1)
    laws = laws_at(some, edges)
    law = np.column_stack([laws.below, laws.told])
    gap = law[place[left]] - law[place[right]]
    return np.asarray(2 * (gap.max(1, initial=0.0) - gap.min(1, initial=0.0)))
