"""Numbers as a technician says them: ``4.7 kΩ``, ``12.0 V``, ``5.8 mV``."""

import math

from shouldread.quantities.spread import Spread
from shouldread.quantities.symbols import UNPREFIXED

_LETTERS = {12: "T", 9: "G", 6: "M", 3: "k", 0: "", -3: "m", -6: "µ", -9: "n", -12: "p", -15: "f"}
# meters show these from a tenth of a unit without prefix: 0.678 V, not 678 mV
_SHOWN_IN_TENTHS = frozenset({"V", "A", "Ω", "W"})

_LEAST = {"F": -12}  # nobody says femtofarads


def say(value: float, unit: str, digits: int = 4) -> str:
    """A value in words of the trade, at most ``digits`` significant figures, with SI prefix.

    Plain volts keep one decimal. Infinite is ``OL`` (over the range), not-a-number ``unknown``.

    >>> say(4700, "Ω"), say(12, "V"), say(0.0058, "V"), say(math.inf, "Ω")
    ('4.7 kΩ', '12.0 V', '5.8 mV', 'OL')
    """
    if math.isnan(value):
        return "unknown"
    if math.isinf(value):
        return "OL" if value > 0 else "-OL"
    value = float(f"{value:.{digits - 1}e}")
    power = _power(value, unit)
    if power not in _LETTERS:
        return f"{value:.{digits}g} {unit}".rstrip()
    figure = _figure(value / 10.0**power, digits)
    if unit == "V" and power == 0 and "." not in figure and len(figure.lstrip("-")) < digits:
        figure += ".0"
    gap = " " if unit else ""
    return f"{figure}{gap}{_LETTERS[power]}{unit}"


_IN_FULL = {"T": "tera", "G": "giga", "M": "mega", "k": "kilo", "m": "milli", "µ": "micro", "n": "nano", "p": "pico"}
_UNIT_WORDS = {"V": "volts", "A": "amperes", "Ω": "ohms", "F": "farads", "H": "henries", "W": "watts"}
_RUN_TOGETHER = {"kiloohms": "kilohms", "megaohms": "megohms"}


def say_in_full(value: float, unit: str, digits: int = 6) -> str:
    """A value with prefix and unit spelled out, so that milli and mega cannot be confused.

    >>> say_in_full(2e6, "Ω"), say_in_full(0.05, "V")
    ('2 megohms', '50 millivolts')
    """
    figure, _, behind = say(value, unit, digits).partition(" ")
    word = _UNIT_WORDS.get(unit, unit)
    prefix = _IN_FULL.get(behind.removesuffix(unit), "") if behind else ""
    spelled = _RUN_TOGETHER.get(prefix + word, prefix + word)
    return f"{figure} {spelled}" if behind else figure


def _power(value: float, unit: str) -> int:
    """The prefix's power of ten."""
    size = abs(value)
    if size == 0 or unit in UNPREFIXED or (unit in _SHOWN_IN_TENTHS and 0.1 <= size < 1):
        return 0
    return max(_LEAST.get(unit, -18), 3 * (math.floor(math.log10(size) + 1e-12) // 3))


def _figure(value: float, digits: int) -> str:
    """Plain decimals, trailing zeros dropped."""
    if value == 0:
        return "0"
    before = math.floor(math.log10(abs(value)) + 1e-12) + 1
    text = f"{value:.{max(0, digits - before)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _share(side: float, nominal: float) -> str:
    return f"{100 * side / abs(nominal):.3g}"


def say_spread(spread: Spread, unit: str, digits: int = 4) -> str:
    """A spread in words that ``read_spread`` reads back: ``47 kΩ``, ``47 kΩ ± 5 %``, ``1 kΩ..100 kΩ``.

    A default tolerance of the trade, which has no hard limits, is told as ``47 kΩ (usually ± 5 %)``.
    """
    if spread.law == "exact" or spread.low == spread.high:
        return say(spread.nominal, unit, digits)
    ends = f"{say(spread.low, unit, digits)}..{say(spread.high, unit, digits)}"
    below, above = spread.nominal - spread.low, spread.high - spread.nominal
    if spread.law == "log-uniform" or max(below, above) >= abs(spread.nominal):
        return ends
    even = math.isclose(below, above, rel_tol=1e-6)
    sides = f"± {_share(above, spread.nominal)} %"
    if not even:
        sides = f"-{_share(below, spread.nominal)}/+{_share(above, spread.nominal)} %"
    if spread.law == "normal":
        sides = f"(usually {sides})"
    return f"{say(spread.nominal, unit, digits)} {sides}"
