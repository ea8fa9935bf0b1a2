"""The picture of one node of a fault table: it says what the table says, and what a node reads that nothing holds."""

from io import BytesIO

import numpy as np
import pytest
import shouldread as sr
from PIL import Image
from shouldread.diagnosis import FaultTable
from shouldread.errors import UnknownNameError
from shouldread.views import Plot, fault_strip
from shouldread.views.fault_strip import HEALTHY, LEFT, WIDE, most_moved
from shouldread.views.picture import EDGE, NEXT, SHARP
from shouldread.views.plots import ROW
from shouldread.views.rich import html

SCREEN = 848  # CSS pixels of a notebook's output area beside the file browser at 1280, measured
DIVIDER = "* divider\nV1 IN 0 12\nR1 IN MID 10k\nR2 MID 0 10k\n"


def shown(text: str, setting: str = "volts", place: str = "") -> tuple[FaultTable, Plot]:
    table = sr.fault_table(sr.load_circuit(text), setting=setting)
    return table, fault_strip(table, place or most_moved(table))


def pixels(strip: Plot) -> np.ndarray:
    return np.asarray(Image.open(BytesIO(strip.image)).convert("RGB")).astype(int)


def test_it_says_what_the_table_says_and_fits_the_screen() -> None:
    table, strip = shown("npn_inverter_enable")
    place = most_moved(table)
    for fault in table.under:
        if place in table.moved(fault):
            assert f"{fault}: {table.under[fault][place].words}" in strip.text
        else:
            assert f"{fault}: {table.under[fault][place].words}" not in strip.text
    assert strip.width <= SCREEN
    assert pixels(strip).shape[1] == strip.width * SHARP


def test_the_healthy_band_runs_down_the_sheet_where_the_axis_has_it() -> None:
    """6 V on an axis that ends a little above 12 V: the band stands in the middle, not at an edge."""
    _, strip = shown(DIVIDER, place="MID")
    red, green, blue = (int(HEALTHY[k : k + 2], 16) for k in (1, 3, 5))
    picture = pixels(strip)
    tinted = (np.abs(picture - (red, green, blue)).sum(axis=2) < 6).sum(axis=0)
    columns = np.flatnonzero(tinted > 40)
    centre = columns.mean() / SHARP
    assert LEFT + WIDE * 0.45 < centre < LEFT + WIDE * 0.53


def test_over_the_range_is_no_place_on_the_axis() -> None:
    """A resistor alone that is open reads OL: the words say so, and the axis ends where figures do."""
    _, strip = shown("* lamp\nV1 IN 0 12\nR1 IN 0 1k\nR2 IN X 10k\nC1 X 0 1u\n", setting="ohms", place="IN")
    rows = [line.strip() for line in strip.text.splitlines()]
    number = rows.index("R1 open: OL") - 1  # the first line is the title
    y = EDGE + ROW * (number + 1.7)
    blue = tuple(int(NEXT[k : k + 2], 16) for k in (1, 3, 5))
    hits = np.abs(pixels(strip) - blue).sum(axis=2) < 60
    band = hits[round((y - 7) * SHARP) : round((y + 7) * SHARP)]
    columns = np.flatnonzero(band.any(axis=0)) / SHARP
    assert len(columns) and columns.min() > LEFT + WIDE - 10  # an arrow off the end, nothing on the axis


@pytest.mark.parametrize("setting", ["volts", "ohms", "diode"])
@pytest.mark.parametrize("name", ["diode_or", "relay_driver", "level_shifter", "buck_feedback"])
def test_every_place_can_be_drawn(name: str, setting: str) -> None:
    table = sr.fault_table(sr.load_circuit(name), setting=setting)
    for place in table.healthy:
        strip = fault_strip(table, place)
        assert strip.width <= SCREEN and pixels(strip).std() > 5
        assert table.healthy[place].words in strip.text


def test_a_place_that_is_not_there_is_named_with_the_nearest() -> None:
    table, _ = shown(DIVIDER)
    with pytest.raises(UnknownNameError, match="MID"):
        fault_strip(table, "MIDD")


def test_the_table_shows_it_in_a_notebook() -> None:
    table, strip = shown(DIVIDER)
    told = html(table)
    assert '<img alt="' in told and "data:image/png;base64," in told and f'width="{strip.width}"' in told
