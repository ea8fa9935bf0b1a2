"""Drawing: a circuit becomes lines, arcs and texts by itself, with a spot for every node. No screen in it."""

from shouldread.drawing.check import clashes, crossings, verify
from shouldread.drawing.drawing import Drawing, PartBox, PinPlace, Spot
from shouldread.drawing.hints import Hints
from shouldread.drawing.lay_out import lay_out
from shouldread.drawing.positions import Positions
from shouldread.drawing.svg import MARKS
from shouldread.drawing.symbols import SYMBOLS, Symbol, symbol_of
from shouldread.drawing.things import Arc, Area, Line, Ring, Text, Thing
from shouldread.drawing.widths import UNIT, text_pixels

__all__ = [
    "MARKS",
    "SYMBOLS",
    "UNIT",
    "Arc",
    "Area",
    "Drawing",
    "Hints",
    "Line",
    "PartBox",
    "PinPlace",
    "Positions",
    "Ring",
    "Spot",
    "Symbol",
    "Text",
    "Thing",
    "clashes",
    "crossings",
    "lay_out",
    "symbol_of",
    "text_pixels",
    "verify",
]
