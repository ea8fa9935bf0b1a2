"""What happens in time, drawn: one lane a node, when each has arrived, and what to mind while charge is stored."""

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes

from shouldread.diagnosis import Caution
from shouldread.errors import RequestError, UnknownNameError
from shouldread.quantities import say
from shouldread.reference import Waveform
from shouldread.views.picture import EDGE, INK, NEXT, SOFT, WRONG, png, sheet, write
from shouldread.views.plots import Plot

LEFT, WIDE, RIGHT = 110.0, 460.0, 150.0  # CSS pixels: names, curve, what is said beside it
LANE, GAP = 54.0, 14.0
ARRIVED = 0.9  # of the way from first to last: the usual end of a rise time
MOST = 14  # lanes


def arrivals(course: Waveform, nodes: Sequence[str] | None = None) -> dict[str, float]:
    """When each node has gone 90 % of its way, in seconds after the change, the first first; what stays is left out."""
    found = {}
    for node in course.volts if nodes is None else nodes:
        volts = course.volts[node]
        if abs(volts[-1] - volts[0]) > 0.02 * max(1.0, float(np.abs(volts).max())):
            found[node] = course.reaches(node, float(volts[0] + ARRIVED * (volts[-1] - volts[0])))
    return dict(sorted(found.items(), key=lambda row: (math.isnan(row[1]), row[1])))


def course_plot(
    course: Waveform,
    nodes: Sequence[str] | None = None,
    *,
    level: float | None = None,
    cautions: Sequence[Caution] = (),
) -> Plot:
    """The volts of nodes over time, each in its own lane in the order in which they arrive.

    ``nodes``: which (by default those that move, at most 14). ``level``: volts whose crossing is marked in each lane
    (2 V for a discharge). ``cautions`` are written below, each once. Raises UnknownNameError for a node that is not
    there, RequestError for a waveform without steps.
    """
    if not len(course.seconds):
        raise RequestError(f"there is nothing to draw: {course.outcome.sentence}")
    unknown = [n for n in nodes or () if n not in course.volts]
    if unknown:
        raise UnknownNameError("node", unknown[0], [n for n in course.volts if n != "0"])
    when = arrivals(course, nodes)
    lanes = [*when, *(n for n in nodes or () if n not in when)][:MOST]
    if not lanes:
        raise RequestError("no node moves in that time: name the nodes to be drawn")
    said = list(dict.fromkeys(c.say for c in cautions))
    high = EDGE * 2 + (LANE + GAP) * len(lanes) + 34 + 20 * len(said)
    figure, axes = sheet(LEFT + WIDE + RIGHT, high)
    lines = [f"{say(course.seconds[-1], 's', 3)} from the change on:"]
    for number, node in enumerate(lanes):
        lines.append(_lane(axes, course, node, EDGE + number * (LANE + GAP), when.get(node, math.nan), level))
    bottom = EDGE + len(lanes) * (LANE + GAP)
    _time_axis(axes, course, bottom)
    for k, words in enumerate(said):
        write(axes, EDGE, bottom + 44 + 20 * k, f"Caution: {words}", ink=WRONG, bold=True)
    return Plot(png(figure), round(LEFT + WIDE + RIGHT), "\n".join([*lines, *(f"Caution: {words}" for words in said)]))


def _across(course: Waveform, seconds: float) -> float:
    """Where a time stands on the sheet."""
    start, end = float(course.seconds[0]), float(course.seconds[-1])
    return LEFT + WIDE * (seconds - start) / (end - start)


def _lane(axes: Axes, course: Waveform, node: str, top: float, arrived: float, level: float | None) -> str:
    """One node's curve; returns the same in words."""
    volts = course.volts[node]
    low, high = min(0.0, float(volts.min())), max(1e-9, float(volts.max()))

    def down(value: float) -> float:
        return top + LANE * (high - value) / (high - low)

    x = [_across(course, float(t)) for t in course.seconds]
    axes.plot([LEFT, LEFT + WIDE], [down(0.0)] * 2, color=SOFT, lw=0.6)
    axes.plot(x, [down(float(v)) for v in volts], color=INK, lw=1.6)
    first, last = (say(round(float(v), 6), "V", 3) for v in (volts[0], volts[-1]))
    write(axes, LEFT - 10, top + LANE / 2 + 4, node, side="end", bold=True)
    write(
        axes,
        LEFT + WIDE + 10,
        top + 10,
        f"{first} to {last}",
        ink=SOFT,
    )
    words = f"  {node}: {first} to {last}"
    if arrived == arrived:
        at = _across(course, arrived)
        axes.plot([at, at], [top, top + LANE], color=NEXT, lw=1.2, ls=(0, (3, 2)))
        write(axes, LEFT + WIDE + 10, top + 28, f"90 % at {say(arrived, 's', 3)}", ink=NEXT)
        words += f", 90 % of the way at {say(arrived, 's', 3)}"
    crossed = course.reaches(node, level) if level is not None else math.nan
    if level is not None and crossed == crossed:
        at = _across(course, crossed)
        axes.plot([at, at], [top, top + LANE], color=WRONG, lw=1.4)
        write(axes, LEFT + WIDE + 10, top + 46, f"{say(level, 'V', 2)} at {say(crossed, 's', 3)}", ink=WRONG)
        words += f", {say(level, 'V', 2)} at {say(crossed, 's', 3)}"
    return words


def _time_axis(axes: Axes, course: Waveform, y: float) -> None:
    axes.plot([LEFT, LEFT + WIDE], [y, y], color=INK, lw=1)
    end = float(course.seconds[-1])
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        at = _across(course, share * end)
        axes.plot([at, at], [y, y + 5], color=INK, lw=1)
        write(axes, at, y + 20, say(share * end, "s", 3) if share else "0", side="middle", ink=SOFT)
