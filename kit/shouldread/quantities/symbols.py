"""The closed table of prefixes and units that people write behind a number; nothing else is a unit here."""

from collections.abc import Mapping

# SI Brochure, 9th edition (BIPM 2019), table 7; meg is what SPICE writes for mega
PREFIXES: Mapping[str, int] = {  # powers of ten
    "T": 12,
    "G": 9,
    "M": 6,
    "meg": 6,
    "Meg": 6,
    "MEG": 6,
    "k": 3,
    "K": 3,
    "m": -3,
    "u": -6,
    "n": -9,
    "p": -12,
    "f": -15,
}

# as written -> symbol; case matters where another symbol differs only by case (f is femto, F is farad)
SYMBOLS: Mapping[str, str] = {
    "V": "V",
    "v": "V",
    "A": "A",
    "a": "A",
    "Ω": "Ω",
    "R": "Ω",
    "r": "Ω",
    "F": "F",
    "H": "H",
    "W": "W",
    "w": "W",
    "Hz": "Hz",
    "hz": "Hz",
    "s": "s",
    "S": "S",
    "J": "J",
    "%": "%",
    "°C": "°C",
}

# words, in any case
WORDS: Mapping[str, str] = {
    "volt": "V",
    "volts": "V",
    "amp": "A",
    "amps": "A",
    "ampere": "A",
    "amperes": "A",
    "ohm": "Ω",
    "ohms": "Ω",
    "farad": "F",
    "farads": "F",
    "henry": "H",
    "henries": "H",
    "watt": "W",
    "watts": "W",
    "hertz": "Hz",
    "second": "s",
    "seconds": "s",
    "siemens": "S",
    "percent": "%",
    "degc": "°C",
}

UNPREFIXED = frozenset({"%", "°C"})

# one sign, several code points: ohm sign, micro sign, minus signs, hard and thin blanks, ellipsis
_SAME = str.maketrans(
    {
        "\N{OHM SIGN}": "Ω",
        "\N{MICRO SIGN}": "u",
        "\N{GREEK SMALL LETTER MU}": "u",
        "\N{MINUS SIGN}": "-",
        "\N{EN DASH}": "-",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
        "\t": " ",
        "\N{HORIZONTAL ELLIPSIS}": "..",
        "\N{DEGREE CELSIUS}": "°C",
    }
)


def plain_signs(text: str) -> str:
    """The text with the several code points of one sign (Ω, µ, minus, blank, …) made one."""
    return text.translate(_SAME)


def unit_symbol(text: str) -> str | None:
    """The symbol of a unit as written, without prefix; None when it is none of ours."""
    return SYMBOLS.get(text) or WORDS.get(text.casefold())


def prefix_and_unit(text: str) -> tuple[int, str, str] | None:
    """What stands behind a number: (power of ten, prefix letter, unit symbol); None when it cannot be read.

    A unit is tried before a prefix, so that ``A`` is ampere and ``m`` alone is milli.
    """
    if not text:
        return 0, "", ""
    whole = unit_symbol(text)
    if whole is not None:
        return 0, "", whole
    for size in (3, 1):
        prefix, rest = text[:size], text[size:].lstrip()
        if prefix not in PREFIXES:
            continue
        unit = unit_symbol(rest) if rest else ""
        if unit is not None and unit not in UNPREFIXED:
            return PREFIXES[prefix], prefix, unit
    return None
