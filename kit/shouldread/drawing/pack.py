"""Stages side by side on one sheet, each as high up as it finds room, in rows from left to right."""

import math
from collections.abc import Sequence

Size = tuple[float, float]
Corner = tuple[float, float]
_GAP = 3.0  # grid units between stages
_ASPECT = math.sqrt(2)  # wished width over height: a landscape page, ISO 216
_ASPECT_WEIGHT, _SCREEN_WEIGHT = 0.5, 0.5  # own judgement: a board scrolled a little both ways, not far down
_SCREEN = 70.0  # grid units that a notebook shows side by side (848 CSS pixels); wider sheets must be scrolled


def skyline(sizes: Sequence[Size], width: float) -> list[Corner]:
    """Corners of boxes, each as high up and then as far left as it finds room within the width."""
    edges: list[tuple[float, float, float]] = [(0.0, width, 0.0)]  # from, to, how far down it is taken
    corners: list[Corner] = []
    for wide, tall in sizes:
        best = min(_offers(edges, wide, width), key=lambda at: (at[1], at[0]))
        corners.append(best)
        edges = _covered(edges, best[0], best[0] + wide + _GAP, best[1] + tall + _GAP)
    return corners


def _offers(edges: Sequence[tuple[float, float, float]], wide: float, width: float) -> list[Corner]:
    found = []
    for start, _, _ in edges:
        if start + wide <= width + 1e-9 or start == 0:
            end = start + wide + _GAP
            found.append((start, max(down for a, b, down in edges if a < end and b > start)))
    return found


def _covered(
    edges: Sequence[tuple[float, float, float]], start: float, end: float, down: float
) -> list[tuple[float, float, float]]:
    """The skyline with one stretch taken further down."""
    rest = [(a, min(b, start), d) for a, b, d in edges if a < start]
    rest += [(max(a, end), b, d) for a, b, d in edges if b > end]
    return sorted([*rest, (start, end, down)])


def pack(sizes: Sequence[Size]) -> list[Corner]:
    """The corner of each stage: the width that gives a small sheet, rather wide than high, fit for a screen."""
    if not sizes:
        return []
    best: tuple[float, list[Corner]] | None = None
    narrow, wide = max(size[0] for size in sizes), sum(size[0] + _GAP for size in sizes)
    for step in range(41):
        corners = skyline(sizes, narrow + (wide - narrow) * step / 40)
        w = max(x + size[0] for (x, _), size in zip(corners, sizes, strict=True))
        h = max(y + size[1] for (_, y), size in zip(corners, sizes, strict=True))
        page = 1 + _ASPECT_WEIGHT * abs(math.log(w / h / _ASPECT))
        price = w * h * page * (1 + _SCREEN_WEIGHT * max(0.0, w - _SCREEN) / _SCREEN)
        if best is None or price < best[0] - 1e-9:
            best = price, corners
    assert best is not None
    return best[1]
