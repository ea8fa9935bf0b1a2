"""Circuits: reading, changing, flattening and writing them."""

from shouldread.circuit.circuit import Circuit
from shouldread.circuit.expand import flatten, state_edits
from shouldread.circuit.flat import Flat
from shouldread.circuit.islands import HOLD, islands
from shouldread.circuit.library import Shelf, load_circuit, shelf
from shouldread.circuit.nouns import KnownReading, NodeFacts, State
from shouldread.circuit.rails import Rail, Rails

__all__ = [
    "HOLD",
    "Circuit",
    "Flat",
    "KnownReading",
    "NodeFacts",
    "Rail",
    "Rails",
    "Shelf",
    "State",
    "flatten",
    "islands",
    "load_circuit",
    "shelf",
    "state_edits",
]
