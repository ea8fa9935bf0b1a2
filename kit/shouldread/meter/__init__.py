"""The meter: its profile, what it does to the board, what its display shows, and readings as typed."""

from shouldread.meter.display import Display, display, limit, noise, pick_range, shown
from shouldread.meter.grammar import read_readings
from shouldread.meter.measure import measure
from shouldread.meter.places import leads, pads
from shouldread.meter.profile import Meter, Range, meter, meter_names
from shouldread.meter.reading import Observation, Reading
from shouldread.meter.setting import SETTINGS, Setting
from shouldread.meter.source import Thevenin, shown_of, thevenin, tip_volts

__all__ = [
    "SETTINGS",
    "Display",
    "Meter",
    "Observation",
    "Range",
    "Reading",
    "Setting",
    "Thevenin",
    "display",
    "leads",
    "limit",
    "measure",
    "meter",
    "meter_names",
    "noise",
    "pads",
    "pick_range",
    "read_readings",
    "shown",
    "shown_of",
    "thevenin",
    "tip_volts",
]
