"""Words to numbers and back: how a technician writes a value, its tolerance and its unit."""

from shouldread.quantities.colours import Banded, read_bands, write_bands
from shouldread.quantities.markings import Marking, read_marking, write_digits, write_eia96, write_letter_code
from shouldread.quantities.numbers import TypedNumber, read_number, si_number, spice_number
from shouldread.quantities.series import is_preferred, nearest, next_above, next_below, series_of
from shouldread.quantities.spread import Law, Spread
from shouldread.quantities.symbols import plain_signs
from shouldread.quantities.tolerances import read_spread
from shouldread.quantities.wording import say, say_in_full, say_spread

__all__ = [
    "Banded",
    "Law",
    "Marking",
    "Spread",
    "TypedNumber",
    "is_preferred",
    "nearest",
    "next_above",
    "next_below",
    "plain_signs",
    "read_bands",
    "read_marking",
    "read_number",
    "read_spread",
    "say",
    "say_in_full",
    "say_spread",
    "series_of",
    "si_number",
    "spice_number",
    "write_bands",
    "write_digits",
    "write_eia96",
    "write_letter_code",
]
