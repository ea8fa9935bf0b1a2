"""One node of a fault table as a picture: the band of a good board, and where each fault would put it."""

import math
import textwrap
from dataclasses import dataclass

from matplotlib.axes import Axes

from shouldread.diagnosis import Band, FaultTable
from shouldread.errors import UnknownNameError
from shouldread.meter import SETTINGS
from shouldread.quantities import say
from shouldread.views.picture import EDGE, INK, NEXT, SOFT, png, sheet, write
from shouldread.views.plots import ROW, Plot

LEFT, WIDE, RIGHT = 214.0, 430.0, 200.0  # CSS pixels: names, axis, figures; 844 in all
HEALTHY = "#dcecdc"
MOST = 40  # lines; a node that more faults move says how many are not drawn
LETTERS = 118  # of a line of text below
TICKS = 7  # at most


@dataclass(frozen=True, slots=True)
class _Axis:
    """Where a value stands, in pixels: even steps, or even decades for ohms."""

    low: float
    high: float
    decades: bool

    def at(self, value: float) -> float:
        low, high, value = (self._bent(x) for x in (self.low, self.high, min(max(value, self.low), self.high)))
        return LEFT + WIDE * (value - low) / (high - low)

    def ticks(self) -> list[float]:
        if self.decades:
            first, last = math.ceil(math.log10(self.low)), math.floor(math.log10(self.high))
            return [10.0**k for k in range(first, last + 1)]
        step = _round_step((self.high - self.low) / TICKS)
        first = math.ceil(self.low / step - 1e-9)
        return [k * step for k in range(first, math.floor(self.high / step + 1e-9) + 1)]

    def _bent(self, value: float) -> float:
        return math.log10(value) if self.decades else value


def fault_strip(table: FaultTable, place: str) -> Plot:
    """What one place of a fault table reads: the healthy band down the sheet, each fault that moves it as a bar.

    A bar spans the band (thin) with the typical reading as a dot; OL stands behind the end of the axis, a reading
    that nothing holds as a dashed line over all of it. Ohms are drawn by decades. Raises UnknownNameError.
    """
    known = next((at for at in table.healthy if at.casefold() == place.casefold()), None)
    if known is None:
        raise UnknownNameError("place", place, list(table.healthy), table.title)
    moved = [(fault, table.under[fault][known]) for fault in table.under if known in table.moved(fault)]
    moved.sort(key=lambda row: (not math.isfinite(row[1].typical), math.isnan(row[1].typical), row[1].typical, row[0]))
    rows = [("healthy", table.healthy[known]), *moved[:MOST]]
    below = _below(table, known, len(moved))
    figure, axes = sheet(LEFT + WIDE + RIGHT, EDGE * 2 + ROW * (len(rows) + 3.4) + 15 * len(below))
    write(axes, EDGE, EDGE + 8, f"{known} – {table.title}"[:LETTERS], bold=True)
    top, bottom = EDGE + ROW * 1.2, EDGE + ROW * (len(rows) + 1.2)
    unit = SETTINGS[table.setting].unit
    axis = _axis(rows, table.setting)
    _ground(axes, axis, rows[0][1], (top, bottom), unit)
    for number, (name, band) in enumerate(rows):
        _row(axes, axis, top + ROW * (number + 0.5), name, band)
    for number, line in enumerate(below):
        write(axes, EDGE, bottom + ROW * 1.8 + 15 * number, line, ink=SOFT)
    said = [f"{known}, {table.title}", *(f"  {name}: {band.words}" for name, band in rows), *below]
    return Plot(png(figure), round(LEFT + WIDE + RIGHT), "\n".join(said))


def most_moved(table: FaultTable) -> str:
    """The place that the most faults move; of equals, the first."""
    return max(table.healthy, key=lambda at: sum(at in table.moved(fault) for fault in table.under))


def _below(table: FaultTable, place: str, moved: int) -> list[str]:
    """What the bars do not say: who is not drawn, who moves nothing here, what the meter itself sets."""
    still = [fault for fault in table.under if place not in table.moved(fault)]
    said = [f"{moved - MOST} more faults move it, not drawn"] if moved > MOST else []
    if still:
        some = ", ".join(still[:12]) + (f" and {len(still) - 12} more" if len(still) > 12 else "")
        said.append(f"Typically as on a good board: {some}")
    if place in table.meter_sets:
        said.append(table.meter_sets[place])
    return [line for text in said for line in textwrap.wrap(text, LETTERS)]


def _axis(rows: list[tuple[str, Band]], setting: str) -> _Axis:
    values = [x for _, band in rows for x in (band.low, band.typical, band.high) if math.isfinite(x)]
    if setting == "ohms" and any(x > 0 for x in values):
        positive = [max(x, 0.1) for x in values]
        first, last = math.floor(math.log10(min(positive))), math.ceil(math.log10(max(positive)) + 1e-9)
        return _Axis(10.0**first, 10.0 ** max(last, first + 1), True)
    low, high = min([0.0, *values]), max([1e-6, *values])
    return _Axis(low, high + 0.02 * (high - low), False)


def _round_step(rough: float) -> float:
    ten: float = 10.0 ** math.floor(math.log10(rough))
    return next(k * ten for k in (1, 2, 2.5, 5, 10) if k * ten >= rough * 0.999)


def _ground(axes: Axes, axis: _Axis, healthy: Band, span: tuple[float, float], unit: str) -> None:
    """The healthy band, the axis and its figures."""
    top, bottom = span
    if math.isfinite(healthy.low) and math.isfinite(healthy.high):
        left, right = axis.at(healthy.low), axis.at(healthy.high)
        middle, wide = (left + right) / 2, max(right - left, 4.0)
        axes.bar(middle, bottom - top, wide, bottom=top, color=HEALTHY, edgecolor="#3d7a4c", lw=0.6, zorder=0)
    axes.plot([LEFT, LEFT + WIDE], [bottom, bottom], color=INK, lw=0.8)
    for value in axis.ticks():
        x = axis.at(value)
        axes.plot([x, x], [bottom, bottom + 4], color=INK, lw=0.8)
        write(axes, x, bottom + 16, say(value, unit, 3), side="middle", ink=SOFT)


def _row(axes: Axes, axis: _Axis, y: float, name: str, band: Band) -> None:
    healthy = name == "healthy"
    ink = INK if healthy else NEXT
    write(axes, LEFT - 12, y + 4, name[:32], side="end", bold=healthy)
    write(axes, LEFT + WIDE + 24, y + 4, band.short[:30], bold=healthy)
    if math.isnan(band.typical):
        axes.plot([LEFT, LEFT + WIDE], [y, y], color=SOFT, lw=1.2, ls=(0, (3, 4)))
        return
    if math.isfinite(band.low):
        axes.plot([axis.at(band.low), axis.at(band.high)], [y, y], color=ink, lw=3, alpha=0.55, solid_capstyle="butt")
    end = LEFT + WIDE
    if not math.isfinite(band.high):  # over the end of the range: OL, or as far as that
        axes.plot([end - 6, end + 10], [y, y], color=ink, lw=2, ls=(0, (1, 1)))
        axes.plot([end + 10], [y], marker=">", ms=6, color=ink, clip_on=False)
    if math.isfinite(band.typical):
        axes.plot([axis.at(band.typical)], [y], marker="o", ms=5.5, color=ink)
