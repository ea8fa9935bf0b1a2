"""What is printed on a part: letter and digit code (IEC 60062), 3 and 4 digits, EIA-96; read and written.

One marking may have several meanings (``22R`` is 22 Ω, or 1.65 Ω by EIA-96); ``read_marking`` gives them
all, the likeliest first.
"""

import math
import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import product

from shouldread.errors import QuantityError
from shouldread.quantities.series import FIGURES, is_preferred
from shouldread.quantities.spread import Spread
from shouldread.quantities.wording import say_spread

# IEC 60062:2016, from memory: tolerance letters in percent (below, above)
TOLERANCE_LETTERS: Mapping[str, tuple[float, float]] = {
    "E": (0.005, 0.005),
    "L": (0.01, 0.01),
    "P": (0.02, 0.02),
    "W": (0.05, 0.05),
    "B": (0.1, 0.1),
    "C": (0.25, 0.25),
    "D": (0.5, 0.5),
    "F": (1.0, 1.0),
    "G": (2.0, 2.0),
    "H": (3.0, 3.0),
    "J": (5.0, 5.0),
    "K": (10.0, 10.0),
    "M": (20.0, 20.0),
    "N": (30.0, 30.0),
    "Q": (10.0, 30.0),
    "T": (10.0, 50.0),
    "S": (20.0, 50.0),
    "Z": (20.0, 80.0),
}
# the same letters on capacitors below 10 pF: picofarads either way
PICOFARAD_LETTERS: Mapping[str, float] = {"B": 0.1, "C": 0.25, "D": 0.5, "F": 1.0, "G": 2.0}

# IEC 60062 letters that stand for the decimal point, by unit, as powers of ten
POINT_LETTERS: Mapping[str, Mapping[str, int]] = {
    "Ω": {"L": -3, "R": 0, "K": 3, "M": 6, "G": 9},
    "F": {
        "p": -12,
        "n": -9,
        "u": -6,
        "µ": -6,
        "μ": -6,
        "m": -3,
        "R": -12,
    },  # R in picofarads: common practice, no source
    "H": {
        "n": -9,
        "N": -9,
        "u": -6,
        "µ": -6,
        "μ": -6,
        "R": -6,
        "m": -3,
    },  # R in microhenries: common practice, no source
}
# digits alone count these: ohms, picofarads, microhenries (IEC 60062; coils: common practice, no source)
DIGITS_COUNT: Mapping[str, int] = {"Ω": 0, "F": -12, "H": -6}

# EIA-96, from memory
EIA96_LETTERS: Mapping[str, int] = {
    "Z": -3, "Y": -2, "R": -2, "X": -1, "S": -1, "A": 0, "B": 1, "H": 1, "C": 2, "D": 3, "E": 4, "F": 5,
}  # fmt: skip

_POINT = re.compile(r"(\d{0,3})([A-Za-zµμ])(\d{0,3})([A-Z]?)", re.ASCII)
_DIGITS = re.compile(r"(\d{2,3})(\d)([A-Z]?)", re.ASCII)
_EIA96 = re.compile(r"(\d\d)([A-Z])", re.ASCII)
EXAMPLES: Mapping[str, str] = {"Ω": "4R7, 4K7J, 103, 1002, 68C", "F": "104, 4n7, 105K", "H": "100, 4R7, 101K"}


MOST_CHARACTERS, MOST_LETTERS = 8, 4  # of a code that is looked at again for what may have been meant
LOOK_ALIKES = str.maketrans("АВЕКМНОРСТХЅкмрοΑΒΕΖΗΚΜΝΟΡΤΧΩ", "ABEKMHOPCTXSkmpoABEZHKMNOPTXR")  # Cyrillic, Greek
MISTAKEN: Mapping[str, str] = {"O": "0", "o": "0", "I": "1", "l": "1", "|": "1", "m": "L"}  # m for a milliohm is L


@dataclass(frozen=True, slots=True)
class Marking:
    """One meaning of what is printed on a part: by which code, and the value with its tolerance."""

    code: str
    spread: Spread
    unit: str

    def __str__(self) -> str:
        return f"{say_spread(self.spread, self.unit)} ({self.code})"


def with_letter(value: float, letter: str, unit: str) -> Spread:
    """The spread that a tolerance letter gives a value; "" gives an exact one. Raises QuantityError."""
    if not letter or value == 0:
        return Spread.exact(value)
    if unit == "F" and value < 9.999e-12 and letter in PICOFARAD_LETTERS:
        side = PICOFARAD_LETTERS[letter] * 1e-12
        return Spread(value, value - side, value + side, "uniform")
    if letter not in TOLERANCE_LETTERS:
        raise QuantityError(f"{letter!r} is no tolerance letter ({' '.join(TOLERANCE_LETTERS)})", value=letter)
    below, above = TOLERANCE_LETTERS[letter]
    return Spread(value, value * (1 - below / 100), value * (1 + above / 100), "uniform")


def _letter_and_digits(text: str, unit: str) -> Marking | None:
    found = _POINT.fullmatch(text)
    if found is None or not (found[1] or found[3]) or found[2] not in POINT_LETTERS[unit]:
        return None
    if found[4] and found[4] not in TOLERANCE_LETTERS:
        return None
    value = float(f"{found[1] or '0'}.{found[3] or '0'}e{POINT_LETTERS[unit][found[2]]}")
    return Marking("letter and digits", with_letter(value, found[4], unit), unit)


def _plain_digits(text: str, unit: str) -> Marking | None:
    if unit == "Ω" and text in ("0", "00", "000", "0000"):
        return Marking("jumper", Spread.exact(0.0), unit)
    found = _DIGITS.fullmatch(text)
    if found is None or (found[3] and found[3] not in TOLERANCE_LETTERS):
        return None
    figures, power = int(found[1]), int(found[2])
    if power == 9 and unit == "F":
        power = -1  # a last digit 9 divides by ten on capacitors (common practice, no source)
    value = float(f"{figures}e{power + DIGITS_COUNT[unit]}")
    return Marking(f"{len(found[1]) + 1} digits", with_letter(value, found[3], unit), unit)


def _as_written(text: str, unit: str) -> Marking | None:
    """One or two digits mean themselves: there is no room for a multiplier."""
    if unit != "Ω" or not re.fullmatch(r"[1-9]\d?", text, re.ASCII):
        return None
    return Marking("plain ohms", Spread.exact(float(text)), unit)


def _eia96(text: str, unit: str) -> Marking | None:
    found = _EIA96.fullmatch(text)
    if unit != "Ω" or found is None or found[2] not in EIA96_LETTERS or not 1 <= int(found[1]) <= 96:
        return None
    value = float(f"{FIGURES['E96'][int(found[1]) - 1]}e{EIA96_LETTERS[found[2]]}")
    return Marking("EIA-96", Spread.uniform(value, 0.01), unit)


# the likeliest meaning first
_CODES: tuple[Callable[[str, str], Marking | None], ...] = (_plain_digits, _letter_and_digits, _eia96, _as_written)


def _known_unit(unit: str) -> None:
    if unit not in DIGITS_COUNT:
        raise QuantityError(f"markings are read in Ω, F or H, not in {unit!r}", value=unit)


def read_marking(text: str, unit: str = "Ω") -> tuple[Marking, ...]:
    """All meanings of what is printed on a resistor (``Ω``), capacitor (``F``) or coil (``H``).

    Raises QuantityError when it means nothing in any code.

    >>> [str(m) for m in read_marking("68C")]
    ['49.9 kΩ ± 1 % (EIA-96)']
    """
    _known_unit(unit)
    plain = str(text).strip()
    found = _meanings(plain, unit)
    if not found:
        like = " or ".join(f"{other} for {_meanings(other, unit)[0]}" for other in _meant(plain, unit))
        shown = plain if len(plain) <= 20 else plain[:17] + "..."
        raise QuantityError(
            f"{shown!r} is no marking of a part in {unit}; {f'type {like}' if like else f'as printed: {EXAMPLES[unit]}'}",
            value=text,
        )
    return found


def _meant(text: str, unit: str) -> tuple[str, ...]:
    """What may have been meant: its signs in another case, without gaps, or those that they look like; at most three."""
    if len(text) > 2 * MOST_CHARACTERS:
        return ()
    plain = "".join(_plain_sign(sign) for sign in text if not sign.isspace())
    if not 0 < len(plain) <= MOST_CHARACTERS or sum(sign.isalpha() for sign in plain) > MOST_LETTERS:
        return ()
    choices = [dict.fromkeys((sign, sign.upper(), sign.lower(), *MISTAKEN.get(sign, ""))) for sign in plain]
    others = ("".join(signs) for signs in product(*choices))
    return tuple(dict.fromkeys(other for other in others if _meanings(other, unit)))[:3]


def _plain_sign(sign: str) -> str:
    """A sign of another script or width as the Latin letter or the digit that it stands for or looks like."""
    digit = unicodedata.digit(sign, None)
    return str(digit) if digit is not None else unicodedata.normalize("NFKC", sign).translate(LOOK_ALIKES)


def _meanings(text: str, unit: str) -> tuple[Marking, ...]:
    return tuple(marking for code in _CODES if (marking := code(text, unit)) is not None)


def _letter_of(tolerance: float) -> str:
    if tolerance == 0:
        return ""
    for letter, (below, above) in TOLERANCE_LETTERS.items():
        if below == above and math.isclose(above, tolerance * 100, rel_tol=1e-6):
            return letter
    raise QuantityError(f"no letter stands for ± {100 * tolerance:g} %", value=tolerance)


def _written_points(unit: str, value: float) -> list[tuple[str, int]]:
    """The letters that may stand in a code for this value, largest first; the last one also below 1 (``R47``)."""
    letters = "GMKR" if unit == "Ω" and value >= 0.1 else {"Ω": "L", "F": "munp", "H": "mun"}[unit]
    points = [(point, POINT_LETTERS[unit][point]) for point in letters]
    return [p for p in points if value >= 0.9999999 * 10.0 ** p[1] or (p == points[-1] and value > 0)]


def _writable(value: float) -> None:
    if not 0 < value < math.inf:
        raise QuantityError(f"a code says a value above 0, such as 4700; {value!r} is none", value=value)


def write_letter_code(value: float, unit: str = "Ω", tolerance: float = 0.0) -> str:
    """The letter and digit code of a value, up to four figures: ``4K7``, ``49K9F``, ``4n7``.

    ``tolerance`` is a fraction. Raises QuantityError for what the code cannot say.
    """
    _known_unit(unit)
    _writable(value)
    letter = _letter_of(tolerance)
    for point, power in _written_points(unit, value):
        digits = f"{value / 10.0**power:.4g}"
        whole, _, part = digits.partition(".")
        if "e" in digits or len(whole) > 3 or len(part) > 3:
            continue
        if math.isclose(float(f"{digits}e{power}"), value, rel_tol=1e-9):
            return f"{whole if whole != '0' else ''}{point}{part or ('0' if len(whole) == 1 else '')}{letter}"
    raise QuantityError(f"the letter and digit code cannot say {value!r} {unit}", value=value)


def write_digits(value: float, unit: str = "Ω", figures: int = 2) -> str:
    """The 3 digit (``figures=2``) or 4 digit (3) code of a value: ``103``, ``1002``, ``4R7`` below 10 Ω.

    Raises QuantityError for a value that has more figures than the code, or is out of its reach.
    """
    _known_unit(unit)
    if figures not in (2, 3):
        raise QuantityError(
            f"digits alone have 2 or 3 figures and the zeros behind them, not {figures}", value=figures
        )
    if unit == "Ω" and value == 0:
        return "0" * (figures + 1)
    _writable(value)
    counted = value / 10.0 ** DIGITS_COUNT[unit]
    if counted > 0:
        power = math.floor(math.log10(counted) + 1e-9) - figures + 1
        number = round(counted / 10.0**power)
        if math.isclose(number * 10.0**power, counted, rel_tol=1e-9):
            if 0 <= power <= 8:
                return f"{number}{power}"
            if -figures <= power < 0:
                digits = f"{number:0{figures}d}"
                at = len(digits) + power
                return f"{digits[:at]}R{digits[at:]}"
    raise QuantityError(f"{figures + 1} characters cannot say {value!r} {unit}", value=value)


def write_eia96(value: float) -> str:
    """The EIA-96 code of a 1 % resistor: ``68C`` for 49.9 kΩ. Raises QuantityError when E96 has no such value."""
    _writable(value)
    for letter, power in EIA96_LETTERS.items():
        figure = value / 10.0**power
        if letter not in "RSH" and 99.5 <= figure < 999.5 and is_preferred(value, "E96"):
            return f"{FIGURES['E96'].index(round(figure)) + 1:02d}{letter}"
    raise QuantityError(f"EIA-96 cannot say {value!r} Ω: no E96 value from 0.1 Ω to 97.6 MΩ", value=value)
