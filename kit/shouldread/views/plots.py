"""Two pictures to learn from: what one point reads under every fault, and how the suspects fell reading by reading."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shouldread.diagnosis import Band, Diagnosis, Expectation
from shouldread.quantities import say
from shouldread.views.picture import EDGE, INK, NEXT, PLATE, SOFT, WRONG, png, sheet, write

ROW = 20.0  # CSS pixels a line
LEFT, WIDE = 190.0, 420.0
MOST = 30  # lines of a strip
TINTS = ("#1f4e79", "#c26a00", "#3d7a4c", "#7a3d74", "#8a8a00", "#00707a")  # dark enough on white, told by label too


@dataclass(frozen=True, slots=True)
class Plot:
    """A picture with the same said in text; a notebook shows the picture, everything else the text."""

    image: bytes
    width: int
    text: str

    def _repr_mimebundle_(
        self, include: object = None, exclude: object = None
    ) -> tuple[dict[str, object], dict[str, object]]:
        return {"image/png": self.image, "text/plain": self.text}, {"image/png": {"width": self.width}}

    def __str__(self) -> str:
        return self.text

    def __repr__(self) -> str:
        return self.text


def node_strip(expectation: Expectation, place: str, reading: float | None = None) -> Plot:
    """What a place should read, healthy and under every fault that moves it, as bars; ``reading`` (SI) as a line.

    Faults whose band overlaps the healthy one are left out: they do not show there.
    """
    expected = expectation[place]
    healthy = expected.healthy
    moved = list(expected.under_each(expectation.circuit.faults).items())
    shown = [(f, b) for f, b in moved if not _overlap(b, healthy)]
    shown.sort(key=lambda row: (row[1].typical if math.isfinite(row[1].typical) else math.inf, row[0]))
    rows = [("healthy", healthy), *shown[: MOST - 1]]
    values = [x for _, b in rows for x in (b.low, b.high) if math.isfinite(x)]
    values += [0.0, 1e-6] if reading is None else [0.0, 1e-6, reading]
    low, high = min(values), max(values)
    figure, axes = sheet(LEFT + WIDE + 110, EDGE * 2 + ROW * (len(rows) + 1))

    def at(value: float) -> float:
        return LEFT + WIDE * (min(max(value, low), high) - low) / (high - low)

    unit = "Ω" if expectation.setting == "ohms" else "A" if expectation.setting == "amps" else "V"
    for number, (name, band) in enumerate(rows):
        y = EDGE + ROW * (number + 0.5)
        ink = INK if name == "healthy" else NEXT
        write(axes, LEFT - 12, y + 4, name[:32], side="end", bold=name == "healthy")
        if math.isfinite(band.typical):
            left, right = at(band.low), at(band.high)
            axes.plot([left, max(right, left + 2)], [y, y], color=ink, lw=5, solid_capstyle="butt")
        write(axes, LEFT + WIDE + 12, y + 4, say(band.typical, unit, 3), ink=SOFT)
    bottom = EDGE + ROW * len(rows)
    if reading is not None:
        axes.plot([at(reading)] * 2, [EDGE, bottom], color=WRONG, lw=1.5)
        write(axes, at(reading), bottom + 14, f"read {say(reading, unit, 3)}", side="middle", ink=WRONG, bold=True)
    text = "\n".join([f"{place}, {expectation.setting}:", *(f"  {name}: {band.words}" for name, band in rows)])
    return Plot(png(figure), round(LEFT + WIDE + 110), text)


def _overlap(one: Band, other: Band) -> bool:
    if math.isnan(one.typical):
        return False
    return one.low <= other.high and other.low <= one.high


def road_plot(steps: Sequence[tuple[str, Diagnosis]]) -> Plot:
    """How belief moved: one column a reading, the leading groups stacked, the rest and "nothing wrong" on top."""
    leading = [group.faults for group in steps[-1][1].groups[: len(TINTS)]] if steps else []
    figure, axes = sheet(LEFT + WIDE + 110, 250 + ROW * len(leading))
    wide = WIDE / max(1, len(steps))
    lines: list[str] = []
    for number, (label, diagnosis) in enumerate(steps):
        base, left = 180.0, EDGE + number * wide * 1.3
        for which, (faults, tint) in enumerate(zip(leading, TINTS, strict=False), 1):
            tall = 150.0 * _share(diagnosis, faults)
            axes.bar(left + wide / 2, -tall, wide * 0.8, bottom=base, color=tint)
            if tall > 12:
                write(axes, left + wide / 2, base - tall / 2 + 4, which, side="middle", bold=True, ink=PLATE)
            base -= tall
        axes.bar(left + wide / 2, -(base - 30.0), wide * 0.8, bottom=base, color="#e4e4e4")
        write(axes, left + wide / 2, 198, label[:18], side="middle")
        first = diagnosis.groups[0] if diagnosis.groups else None
        lines.append(f"{label}: {' or '.join(first.faults[:3]) if first else 'nothing'} leads")
    for which, (faults, tint) in enumerate(zip(leading, TINTS, strict=False), 1):
        y = 226 + ROW * (which - 1)
        axes.plot([EDGE, EDGE + 14], [y - 4, y - 4], color=tint, lw=10, solid_capstyle="butt")
        write(axes, EDGE + 7, y, which, side="middle", bold=True, ink=PLATE)
        write(axes, EDGE + 24, y, " or ".join(faults[:4]))
    return Plot(png(figure), round(LEFT + WIDE + 110), "\n".join(lines))


def _share(diagnosis: Diagnosis, faults: tuple[str, ...]) -> float:
    return next((group.share for group in diagnosis.groups if set(group.faults) & set(faults)), 0.0)
