"""Words to numbers and back: how a technician writes a value, its tolerance and its unit."""

from shouldread.quantities.numbers import TypedNumber, read_number, si_number, spice_number
from shouldread.quantities.spread import Law, Spread
from shouldread.quantities.symbols import plain_signs
from shouldread.quantities.tolerances import read_spread
from shouldread.quantities.wording import say, say_in_full, say_spread

__all__ = [
    "Law",
    "Spread",
    "TypedNumber",
    "plain_signs",
    "read_number",
    "read_spread",
    "say",
    "say_in_full",
    "say_spread",
    "si_number",
    "spice_number",
]
