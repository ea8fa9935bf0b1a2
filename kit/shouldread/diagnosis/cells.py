"""Cells: where the boxes of all panels in use meet, and what each of them predicts for rows of those panels."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.boxes import Region, overlaid
from shouldread.diagnosis.joint import Lines
from shouldread.diagnosis.panel import Panel

Array = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Cells:
    """K cells: their region, and for each panel laid on so far the number of the panel's box that holds each."""

    region: Region
    panels: tuple[Panel, ...]
    boxes: tuple[Ints, ...]

    @classmethod
    def whole(cls, numbers: Ints, axes: int) -> "Cells":
        """One cell a hypothesis, numbers ascending."""
        return cls(Region(numbers, np.zeros((len(numbers), axes)), np.ones((len(numbers), axes))), (), ())

    def laid_on(self, panel: Panel) -> "Cells":
        """Cut further by a panel's boxes; the same cells when it is there already."""
        if panel in self.panels:
            return self
        sheet = panel.sheet(np.unique(self.region.owner))
        one, two, region = overlaid(self.region, sheet.boxes.region)
        return Cells(region, (*self.panels, panel), (*(boxes[one] for boxes in self.boxes), two))

    def picked(self, chosen: Ints) -> "Cells":
        """Some of the cells (numbers ascending)."""
        region = Region(self.region.owner[chosen], self.region.low[chosen], self.region.high[chosen])
        return Cells(region, self.panels, tuple(boxes[chosen] for boxes in self.boxes))

    @property
    def log_weight(self) -> Array:
        """Log of each cell's share of its hypothesis (K,)."""
        return self.region.log_weight


@dataclass(frozen=True, slots=True)
class Slopes:
    """What cells predict for n rows, before one axis of each is chosen to be the cell's stretch.

    ``mean`` (K, n), ``loads`` (K, n, C), ``change`` (K, n, D) over the cell's width of each axis, ``loose`` (K, n)
    variance of its own, ``told`` (K, n).
    """

    mean: Array
    loads: Array
    change: Array
    loose: Array
    told: NDArray[np.bool_]

    def lead(self, variance: Array) -> Ints:
        """The axis (K,) along which the rows change most, in units of ``variance`` (n,) or (K, n) and of tolerances."""
        if self.change.shape[2] == 0:
            return np.zeros(len(self.mean), dtype=np.intp)
        spread = (self.loads**2).sum(2) + self.loose + variance
        return np.asarray((self.change**2 / spread[:, :, None]).sum(1).argmax(1))

    def along(self, lead: Ints) -> Lines:
        """Lines with axis ``lead`` as the stretch and the other axes among the variables, even ones as normal."""
        if self.change.shape[2] == 0:
            return Lines(self.mean, self.loads, np.zeros_like(self.mean), self.loose.copy())
        cells = np.arange(len(self.mean))
        rise = self.change[cells, :, lead]
        rest = self.change / np.sqrt(12)
        rest[cells, :, lead] = 0.0
        moving = np.flatnonzero(np.abs(rest).max((0, 1), initial=0.0) > 0)
        loads = np.concatenate([self.loads, rest[:, :, moving]], axis=2) if len(moving) else self.loads
        return Lines(self.mean, loads, rise, self.loose.copy())


def slopes_of(cells: Cells, rows: Sequence[tuple[Panel, int]]) -> Slopes:
    """Predictions of all cells for rows given as (panel, number of the pair in it), the models' own doubt included."""
    count, axes = len(cells.region.owner), cells.region.low.shape[1]
    middle, width = cells.region.middle, cells.region.high - cells.region.low
    columns = len(rows[0][0].board.variables.columns) if rows else 0
    mean, told = np.empty((count, len(rows))), np.empty((count, len(rows)), dtype=bool)
    loose = np.zeros((count, len(rows)))
    loads, change = np.empty((count, len(rows), columns)), np.empty((count, len(rows), axes))
    for panel in dict.fromkeys(panel for panel, _ in rows):
        places = [k for k, row in enumerate(rows) if row[0] is panel]
        pairs = np.array([rows[k][1] for k in places])
        beside = places[-1] - places[0] < len(places)  # a slice of what is filled is much quicker than picking
        where = slice(places[0], places[-1] + 1) if beside else np.array(places)
        box = cells.boxes[cells.panels.index(panel)]
        sheet = panel.sheet(np.unique(cells.region.owner))
        slope = sheet.boxes.slope[np.ix_(box, pairs)]
        offset = middle - sheet.boxes.region.middle[box]
        mean[:, where] = sheet.boxes.mean[np.ix_(box, pairs)] + (slope * offset[:, None, :]).sum(2)
        change[:, where] = slope * width[:, None, :]
        loads[:, where] = sheet.loads[np.ix_(box, pairs)] * panel.board.variables.doubt
        loose[:, where] = sheet.loose[np.ix_(box, pairs)]
        told[:, where] = sheet.boxes.told[box][:, None]
    return Slopes(mean, loads, change, loose, told)
