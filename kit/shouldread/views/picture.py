"""Pictures for the saved copy: the drawing with values and marks written in, or the rails as a list."""

import math
import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from io import BytesIO

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import Arc as RoundPatch
from matplotlib.patches import Circle, PathPatch, Polygon
from matplotlib.path import Path
from matplotlib.textpath import TextPath
from matplotlib.transforms import Affine2D

from shouldread.drawing import MARKS, UNIT, Arc, Area, Drawing, Line, Ring, Text, text_pixels
from shouldread.views.words import State

DPI = 96  # CSS pixels per inch
SHARP = 2  # pixels of the file per CSS pixel
POINTS = 72 / DPI  # points per CSS pixel
INK, SOFT, WRONG, NEXT, PLATE = "#1b1b1b", "#5f5f5f", "#b71c1c", "#1976d2", "#ffffff"
STROKES = {"heavy": 2.2, "rail": 2.0, "leader": 0.7}
SIGNS = {"as it should be": "✓", "too low": "▼", "too high": "▲", "cannot tell": "?"}
EDGE = 14.0
ROUND = 5.2  # CSS pixels: a point's ring; the nearest text begins 6.3 from its middle


def picture(states: Mapping[str, State], drawing: Drawing | None) -> tuple[bytes, int]:
    """The file and its width in CSS pixels."""
    return rails_drawn(states["doorway"]) if drawing is None else drawn(drawing, states["stage"])


def sheet(width: float, height: float) -> tuple[Figure, Axes]:
    """A white sheet measured in CSS pixels, y down."""
    figure = Figure(figsize=(width / DPI, height / DPI), dpi=DPI * SHARP, facecolor=PLATE)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, width)
    axes.set_ylim(height, 0)
    axes.axis("off")
    return figure, axes


def png(figure: Figure) -> bytes:
    """The picture as a file."""
    stream = BytesIO()
    FigureCanvasAgg(figure)
    figure.savefig(stream, format="png", dpi=DPI * SHARP)
    return stream.getvalue()


@lru_cache(maxsize=512)
def _outline(text: str, bold: bool) -> Path:
    """A text as an outline of 11 px; a name is never taken for a formula."""
    face = FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal")
    return TextPath((0, 0), text.replace("$", r"\$"), size=10.4, prop=face, usetex=False)


def write(
    axes: Axes, x: float, y: float, text: object, *, side: str = "start", bold: bool = False, ink: str = INK
) -> None:
    """One line on its baseline, as wide as the drawing keeps room for it."""
    words = str(text).strip()
    if not words:
        return
    path = _outline(words, bold)
    wide, shown = text_pixels(words, bold), path.get_extents().x1
    squeeze = min(1.0, wide / shown) if shown > 0 else 1.0
    left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[side]
    place = Affine2D().scale(squeeze, -1).translate(left, y)
    axes.add_patch(PathPatch(place.transform_path(path), facecolor=ink, edgecolor="none", zorder=6))


def drawn(drawing: Drawing, stage: State) -> tuple[bytes, int]:
    """The circuit with what each point read, else what it should read."""
    width, height = drawing.width + 2 * EDGE, drawing.height + 2 * EDGE
    figure, axes = sheet(width, height)
    axes.set_xlim(-EDGE, drawing.width + EDGE)
    axes.set_ylim(drawing.height + EDGE, -EDGE)
    points = {str(point["place"]): point for point in rows_of(stage, "points")}
    on_wire = {spot.node for spot in drawing.spots if spot.sort == "wire"}
    for thing in drawing.things:
        if isinstance(thing, Text):
            _write_thing(axes, thing, points.get(thing.node), thing.node in on_wire)
        else:
            _THINGS[type(thing)](axes, thing)
    probe = stage["next"]
    at = probe["at"] if isinstance(probe, dict) and probe["setting"] == stage["setting"] else ""
    for spot in drawing.spots:
        if spot.node in points:
            verdict = str(points[spot.node]["verdict"]) if spot.sort == "wire" else ""
            _spot(axes, spot.x, spot.y, verdict, spot.node == at, spot.sort == "wire")
    return png(figure), round(width)


def _line(axes: Axes, line: Line) -> None:
    xs, ys = zip(*line.points, strict=True)
    width = STROKES.get(line.sort, 1.5) * POINTS
    axes.plot(xs, ys, color=INK, lw=width, solid_capstyle="round", solid_joinstyle="round", zorder=2)


def _area(axes: Axes, area: Area) -> None:
    axes.add_patch(Polygon(area.points, closed=True, facecolor=INK, edgecolor="none", zorder=2))


def _ring(axes: Axes, ring: Ring) -> None:
    face, edge = (INK, "none") if ring.sort == "dot" else ("none", INK)
    place = (ring.x, ring.y)
    axes.add_patch(Circle(place, ring.radius * UNIT, facecolor=face, edgecolor=edge, lw=1.5 * POINTS, zorder=2))


def _arc(axes: Axes, arc: Arc) -> None:
    (x0, y0), (x1, y1) = arc.start, arc.end
    across, angle = math.hypot(x1 - x0, y1 - y0), math.degrees(math.atan2(y1 - y0, x1 - x0))
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    half = RoundPatch(middle, across, across, angle=angle, theta1=180, theta2=360, color=INK, lw=1.5 * POINTS)
    axes.add_patch(half)


_THINGS: Mapping[type, Callable[..., None]] = {Line: _line, Area: _area, Ring: _ring, Arc: _arc}


def _write_thing(axes: Axes, text: Text, point: State | None, on_wire: bool) -> None:
    """A text; where a reading has no spot of its own on a wire, its mark stands before it."""
    words, bold, ink = text.text, text.sort == "node", SOFT if text.sort in ("value", "pin") else INK
    if text.sort == "reading":
        point = point or {"short": "", "read": "", "verdict": ""}
        sign = "" if on_wire else SIGNS.get(str(point["verdict"]), "")
        words = f"{sign} {point['short']}".strip()
        bold = bool(point["read"])
        ink = WRONG if sign_is_wrong(point) else INK if bold else SOFT
    write(axes, text.x, text.y, words, side=text.anchor, bold=bold, ink=ink)


def sign_is_wrong(row: State) -> bool:
    """Whether a verdict accuses."""
    return str(row["verdict"]) in ("too low", "too high")


def _spot(axes: Axes, x: float, y: float, verdict: str, is_next: bool, is_wire: bool) -> None:
    wrong = verdict in ("too low", "too high")
    if is_wire and not wrong:
        face, edge = (NEXT, NEXT) if is_next and not verdict else (PLATE, INK)
        radius = ROUND if verdict or is_next else 4
        axes.add_patch(Circle((x, y), radius, facecolor=face, edgecolor=edge, lw=1.5 * POINTS, zorder=4))
    if verdict in MARKS:
        size = 0.86 if wrong else 0.56
        shape = Affine2D().scale(size).translate(x, y).transform_path(_mark(MARKS[verdict]))
        face, ink = (WRONG, WRONG) if wrong else ("none", INK)
        axes.add_patch(PathPatch(shape, facecolor=face, edgecolor=ink, lw=1.5 * POINTS, zorder=5))


def _mark(shape: str) -> Path:
    """A mark's outline: moves, lines and closings, as in an SVG path."""
    points: list[tuple[float, float]] = []
    codes: list[int] = []
    for verb, x, y in re.findall(r"([MLZ])(?:(-?[\d.]+),(-?[\d.]+))?", shape):
        codes.append(int({"M": Path.MOVETO, "L": Path.LINETO, "Z": Path.CLOSEPOLY}[verb]))
        points.append((float(x), float(y)) if x else points[0])
    return Path(points, codes)


def rails_drawn(doorway: State) -> tuple[bytes, int]:
    """The rails as a list: name, what was read, verdict by sign and word."""
    rows = rows_of(doorway, "rows")
    figure, axes = sheet(560, 40 + 22 * max(1, len(rows)))
    write(axes, EDGE, 22, doorway["finding"] or ("Rails" if rows else "Nothing read yet"), bold=True)
    for number, row in enumerate(rows):
        y = 46.0 + 22 * number
        ink = WRONG if row["verdict"] in ("too low", "too high") and not row["waits"] else INK
        write(axes, EDGE, y, row["name"], bold=True, ink=ink)
        write(axes, 190, y, row["read"] or "–", side="end", ink=ink)
        write(axes, 210, y, SIGNS.get(str(row["verdict"]), ""), ink=ink)
        write(axes, 228, y, row["said"] or "not read", ink=ink)
    return png(figure), 560


def rows_of(state: State, name: str) -> list[State]:
    """The rows of a screen's list."""
    rows = state[name]
    assert isinstance(rows, list)
    return rows
