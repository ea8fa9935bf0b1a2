"""Plots of the figures: how true the shares are, and how fast doubt goes by probing order."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.ticker import PercentFormatter
from numpy.typing import NDArray

from tests.benchmarks.diagnosis.measures import Road, Scored

INK, PALE = "#1b1b1b", "#b0b0b0"
# each line by its marker and dashes as well as its colour
STYLES = (("#1565c0", "o", "-"), ("#b71c1c", "s", "--"), ("#2e7d32", "^", "-."), ("#6a1b9a", "D", ":"))
WIDE, HIGH = 3.0, 3.3  # inches of one plot
LEAST = 5  # boards in a bin that is shown
SURE_AT = 1.645  # standard errors: nine times in ten


def truth_of_shares(stages: Mapping[str, Mapping[str, Scored]]) -> Figure:
    """Of boards whose leading hypothesis was given some share: how often it was right, by stage and world."""
    figure, plots = _sheet(len(stages))
    for axes, (stage, worlds) in zip(plots, stages.items(), strict=True):
        axes.plot([0, 1], [0, 1], color=PALE, lw=1, zorder=1)
        for (colour, marker, _), (world, scored) in zip(STYLES, worlds.items(), strict=False):
            said, right, error = _binned(np.array(scored.top), np.array(scored.right))
            axes.errorbar(
                said, right, error, color=colour, marker=marker, ls="none", ms=5, lw=1, capsize=2, label=world
            )
        _named(axes, stage, "share of what leads", "how often it is right")
        axes.set(xlim=(0, 1.02), ylim=(0, 1.05))
        axes.xaxis.set_major_formatter(PercentFormatter(1, symbol=" %"))
        axes.yaxis.set_major_formatter(PercentFormatter(1, symbol=" %"))
    _legend(figure, plots[0])
    return figure


def doubt_left(stages: Mapping[str, Mapping[str, Sequence[Road]]], most: int = 8) -> Figure:
    """Bits of doubt between groups after each probe, in the mean over boards, by stage and probing order."""
    figure, plots = _sheet(len(stages))
    for axes, (stage, orders) in zip(plots, stages.items(), strict=True):
        longest = min(most, max(len(road.left) for roads in orders.values() for road in roads) - 1)
        for (colour, marker, dashes), (order, roads) in zip(STYLES, orders.items(), strict=True):
            bits = [np.mean([road.left[min(k, len(road.left) - 1)] for road in roads]) for k in range(longest + 1)]
            axes.plot(range(longest + 1), bits, color=colour, marker=marker, ls=dashes, ms=5, lw=1.4, label=order)
        _named(axes, stage, "probes after the first reading", "bits of doubt left")
        axes.set_ylim(bottom=0)
        axes.xaxis.get_major_locator().set_params(integer=True)
    _legend(figure, plots[0])
    return figure


def save(figure: Figure, path: Path) -> None:
    """As a picture of lines, the same bytes for the same figures."""
    FigureCanvasSVG(figure)
    with rc_context({"svg.hashsalt": "figures", "svg.fonttype": "none"}):
        figure.savefig(path, format="svg", metadata={"Date": None, "Creator": None})


def _sheet(many: int) -> tuple[Figure, list[Axes]]:
    figure = Figure(figsize=(WIDE * many, HIGH), layout="constrained", facecolor="white")
    return figure, [figure.add_subplot(1, many, k + 1) for k in range(many)]


def _legend(figure: Figure, axes: Axes) -> None:
    """What the marks of all plots mean, below them."""
    marks, names = axes.get_legend_handles_labels()
    figure.legend(marks, names, loc="outside lower center", ncols=len(names), frameon=False, fontsize=8)


def _named(axes: Axes, title: str, across: str, up: str) -> None:
    axes.set_title(_broken(title), fontsize=9, color=INK)
    axes.set_xlabel(across, fontsize=8)
    axes.set_ylabel(up, fontsize=8)
    axes.tick_params(labelsize=8)
    axes.spines[["top", "right"]].set_visible(False)


def _broken(title: str, most: int = 34) -> str:
    """In two lines where it is long."""
    if len(title) <= most:
        return title
    cut = title.rfind(" ", 0, most)
    return f"{title[:cut]}\n{title[cut + 1 :]}"


def _binned(said: NDArray[np.float64], right: NDArray[np.bool_]) -> tuple[list[float], list[float], list[float]]:
    """Ten bins of shares: the mean share, how often right, and nine times in ten no farther off than."""
    bins = np.minimum((said * 10).astype(int), 9)
    kept = [bins == k for k in range(10) if (bins == k).sum() >= LEAST]
    rates = [(said[k].mean(), right[k].mean(), int(k.sum())) for k in kept]
    return (
        [float(s) for s, _, _ in rates],
        [float(r) for _, r, _ in rates],
        [float(SURE_AT * np.sqrt(max(r * (1 - r), 0.25 / n) / n)) for _, r, n in rates],
    )
