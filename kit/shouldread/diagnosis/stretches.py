"""What every hypothesis reads at one row of a panel, as straight stretches; worked out once for a panel's sheet."""

from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.cells import Slopes
from shouldread.diagnosis.panel import Panel, Sheet

Array = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Stretches:
    """K stretches, those of a hypothesis together: ``owner`` (K,) ascending, ``weight`` (K,) its share of the
    hypothesis, ``mean + rise u`` on the panel's scale with u even in ±1/2, ``variance`` (its square) by tolerances and
    what the display is off by, ``told`` (K,) as in Answer."""

    owner: Ints
    weight: Array
    mean: Array
    variance: Array
    rise: Array
    told: NDArray[np.bool_]

    def of(self, numbers: Ints) -> "Stretches":
        """Those of some hypotheses (their numbers)."""
        wanted = np.zeros(max(int(self.owner.max(initial=0)), int(numbers.max(initial=0))) + 1, dtype=bool)
        wanted[numbers] = True
        held = wanted[self.owner]
        return Stretches(
            self.owner[held],
            self.weight[held],
            self.mean[held],
            self.variance[held],
            self.rise[held],
            self.told[held],
        )


_kept: WeakKeyDictionary[Panel, dict[int, tuple[Sheet, Stretches]]] = WeakKeyDictionary()


def stretches(panel: Panel, row: int, numbers: Ints) -> Stretches:
    """What hypotheses ``numbers`` read at a row of a panel."""
    sheet, rows = panel.sheet(numbers), _kept.setdefault(panel, {})
    if row not in rows or rows[row][0] is not sheet:
        rows[row] = sheet, _of_sheet(panel, sheet, row)
    return rows[row][1].of(numbers)


def _of_sheet(panel: Panel, sheet: Sheet, row: int) -> Stretches:
    region, only = sheet.boxes.region, slice(row, row + 1)
    slopes = Slopes(
        sheet.boxes.mean[:, only],
        sheet.loads[:, only] * panel.board.variables.doubt,
        sheet.boxes.slope[:, only] * (region.high - region.low)[:, None, :],
        sheet.loose[:, only],
        sheet.boxes.told[:, None],
    )
    own = panel.scale.variance(slopes.mean[:, 0])
    lines = slopes.along(slopes.lead(own[:, None]))
    variance = (lines.loads[:, 0] ** 2).sum(1) + lines.loose[:, 0] + own
    weight = np.exp(region.log_weight)
    return Stretches(region.owner, weight, lines.mean[:, 0], variance, lines.rise[:, 0], sheet.boxes.told)
