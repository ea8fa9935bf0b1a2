"""Marks on a drawing touch no text: the ring of a chosen point once covered the value beside it."""

import re
from math import hypot
from pathlib import Path

import pytest
from shouldread.circuit import load_circuit, shelf
from shouldread.drawing import Drawing, Text, lay_out, text_pixels
from shouldread.views import picture, static

WIDEST = "12.345 V"  # as it stands beside a point that was read
RISE, FALL = 8.2, 0.3  # CSS pixels of a letter over and under its line, at 11 px
HALF_STROKE = 1.1


def nearest(drawing: Drawing) -> float:
    """How far the nearest text begins from the middle of a point on a wire."""
    spots = [spot for spot in drawing.spots if spot.sort == "wire"]
    least = 99.0
    for text in [thing for thing in drawing.things if isinstance(thing, Text)]:
        wide = text_pixels(text.text or WIDEST, text.sort in ("node", "reading"))
        left = text.x - {"start": 0.0, "middle": wide / 2, "end": wide}[text.anchor]
        for spot in spots:
            aside = max(left - spot.x, 0.0, spot.x - left - wide)
            above = max(text.y - RISE - spot.y, 0.0, spot.y - text.y - FALL)
            least = min(least, hypot(aside, above))
    return least


@pytest.mark.parametrize("name", [entry.name for entry in shelf()])
def test_the_ring_of_a_point_touches_no_text(name: str) -> None:
    assert nearest(lay_out(load_circuit(name))) > picture.ROUND + HALF_STROKE - 0.05


def test_page_and_saved_picture_draw_the_same_ring() -> None:
    script = (Path(static.__file__).parent / "70_drawing.js").read_text(encoding="utf-8")
    found = re.search(r"const ROUND = ([\d.]+);", script)
    assert found and float(found[1]) == picture.ROUND
