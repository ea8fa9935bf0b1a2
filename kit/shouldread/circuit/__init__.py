"""Circuits: reading, changing, flattening and writing them."""

from shouldread.circuit.asked import Asked, asked
from shouldread.circuit.circuit import Circuit
from shouldread.circuit.expand import flatten, state_edits
from shouldread.circuit.feeds import fed_in, feed_of, is_supply
from shouldread.circuit.figures import Figure, figures, figures_of, told_figures
from shouldread.circuit.flat import Flat
from shouldread.circuit.islands import HOLD, first_of_islands, islands
from shouldread.circuit.library import Shelf, load_circuit, shelf
from shouldread.circuit.limits import Limit, limits
from shouldread.circuit.looks_like import Likeness, looks_like
from shouldread.circuit.nouns import KnownReading, NodeFacts, State
from shouldread.circuit.rails import Rail, Rails
from shouldread.circuit.remembered import Remembered
from shouldread.circuit.spice import OPTIONS, Deck, deck, switches_from
from shouldread.circuit.standing import standing
from shouldread.circuit.trace import Trace, TracedRow
from shouldread.circuit.trace_back import traced

__all__ = [
    "HOLD",
    "OPTIONS",
    "Asked",
    "Circuit",
    "Deck",
    "Figure",
    "Flat",
    "KnownReading",
    "Likeness",
    "Limit",
    "NodeFacts",
    "Rail",
    "Rails",
    "Remembered",
    "Shelf",
    "State",
    "Trace",
    "TracedRow",
    "asked",
    "deck",
    "fed_in",
    "feed_of",
    "figures",
    "figures_of",
    "first_of_islands",
    "flatten",
    "is_supply",
    "islands",
    "limits",
    "load_circuit",
    "looks_like",
    "shelf",
    "standing",
    "state_edits",
    "switches_from",
    "told_figures",
    "traced",
]
