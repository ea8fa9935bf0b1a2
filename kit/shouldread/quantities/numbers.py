"""Numbers as people and netlists write them, by two grammars of our own that read in linear time.

Netlist lines follow SPICE (no case, ``m`` milli, ``meg`` mega, letters behind the scale ignored). Everywhere
else SI holds with case (``M`` mega, ``m`` milli), with decimal comma and letters in place of the point
(``4k7``, ``4R7``, ``3V3``: IEC 60062).
"""

import math
import re
from dataclasses import dataclass

from shouldread.errors import QuantityError
from shouldread.quantities.symbols import PREFIXES, SYMBOLS, plain_signs, prefix_and_unit, unit_symbol

MAX_LENGTH = 100
_NUMBER = re.compile(r"([+-]?)(\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE]([+-]?\d{1,4})(?![\d.,]))?", re.ASCII)
_INFIX = re.compile(r"([+-]?)(\d+)([A-Za-zΩ])(\d+)(?![\d.,])", re.ASCII)
_INFIX_UNITS = frozenset("VvAaRrΩFH")
_SPICE = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))(?:e([+-]?\d{1,4}))?([a-zµμΩ%°]*)", re.ASCII | re.IGNORECASE)
# ngspice manual, section "Syntax of numbers": meg and mil are looked for before m
_SPICE_POWERS = (
    ("meg", 6), ("t", 12), ("g", 9), ("k", 3), ("m", -3), ("u", -6), ("n", -9), ("p", -12), ("f", -15), ("a", -18),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class TypedNumber:
    """A number with what its digits tell: ``step`` is the worth of the last digit typed (SI).

    ``unit`` is a symbol or "". ``prefix`` is the letter that scaled it, ``infix`` whether that letter
    (or a unit) stood in place of the decimal point.
    """

    value: float
    unit: str
    step: float
    prefix: str = ""
    infix: bool = False

    @property
    def low(self) -> float:
        """The least value that rounds to what was typed."""
        return self.value - self.step / 2

    @property
    def high(self) -> float:
        """The greatest value that rounds to what was typed."""
        return self.value + self.step / 2


def _refuse(text: str, why: str) -> QuantityError:
    shown = text if len(text) <= 40 else text[:37] + "..."
    return QuantityError(f"{shown!r} is not a number that can be read: {why}", value=text)


def _finite(text: str, digits: str, power: int) -> float:
    value = float(f"{digits}e{power}")  # one rounding only: 100n is 1e-7 to the last bit
    if not math.isfinite(value):
        raise _refuse(text, "it is too large")
    return value


def read_number(text: str) -> TypedNumber:
    """Read one number with SI prefix and unit, keeping the precision that its digits tell.

    ``600mV``, ``12,1 V``, ``.02``, ``4k7``, ``4R7``, ``3V3``, ``5.5e-05``, ``4.7 kohm``. A comma is a decimal
    comma. Raises QuantityError for anything else, saying what to write.

    >>> read_number("4k7").low
    4650.0
    """
    if len(text) > MAX_LENGTH:
        raise _refuse(text, f"it is longer than {MAX_LENGTH} characters")
    plain = plain_signs(text).strip()
    infix = _INFIX.match(plain)
    if infix is not None and infix[3] not in "eE":
        return _infix_number(text, infix, plain[infix.end() :].strip())
    found = _NUMBER.match(plain)
    if found is None:
        raise _refuse(text, "write digits first, such as 4.7k, 600 mV or 4k7")
    sign, digits, power = found[1], found[2].replace(",", "."), int(found[3] or 0)
    rest = plain[found.end() :].strip()
    behind = prefix_and_unit(rest)
    if behind is None:
        raise _refuse(text, _why_not(rest))
    power += behind[0]
    decimals = len(digits.partition(".")[2])
    value = _finite(text, sign + digits, power)
    return TypedNumber(value, behind[2], _finite(text, "1", power - decimals), behind[1])


def _infix_number(text: str, found: re.Match[str], rest: str) -> TypedNumber:
    sign, whole, letter, part = found.groups()
    unit = SYMBOLS[letter] if letter in _INFIX_UNITS else ""
    if letter not in PREFIXES and not unit:
        raise _refuse(text, f"{letter!r} inside the digits is no prefix (p n u m k M G) and no unit (R V A F H)")
    said = unit_symbol(rest) if rest else ""
    if said is None or (said and unit and said != unit):
        raise _refuse(text, f"{rest!r} behind it is not a unit that goes with it")
    power = PREFIXES.get(letter, 0)
    value = _finite(text, f"{sign}{whole}.{part}", power)
    return TypedNumber(value, unit or said, _finite(text, "1", power - len(part)), letter, infix=True)


def _why_not(rest: str) -> str:
    if rest[0] in ".,'0123456789":
        return "write one decimal point or comma and no thousands sign, such as 12000 or 12k"
    return f"{rest[:20]!r} behind the number is no unit known here (V A Ω F H W Hz s S J % °C, prefixes p n u m k M G)"


def si_number(text: str) -> tuple[float, str]:
    """Read a number as people write it: value in SI units and the unit's symbol, or "" when none was written.

    Raises QuantityError.

    >>> si_number("4k7"), si_number("600 mV"), si_number("3V3")
    ((4700.0, ''), (0.6, 'V'), (3.3, 'V'))
    """
    number = read_number(text)
    return number.value, number.unit


def spice_number(text: str) -> float:
    """Read a number of a netlist line by SPICE's rules: ``1M`` is milli, ``1meg`` mega, letters behind are ignored.

    Raises QuantityError, also for ``4k7``, which SPICE would take for 4k.

    >>> spice_number("4.7kOhm"), spice_number("1MEG"), spice_number("1M")
    (4700.0, 1000000.0, 0.001)
    """
    if len(text) > MAX_LENGTH:
        raise _refuse(text, f"it is longer than {MAX_LENGTH} characters")
    found = _SPICE.fullmatch(text.strip())
    if found is None:
        why = "in a netlist write digits, a point and a scale letter (t g meg k m u n p f), such as 4.7k"
        raise _refuse(text, why)
    letters = found[3].casefold().replace("µ", "u").replace("μ", "u")
    power = int(found[2] or 0)
    if letters.startswith("mil"):
        return _finite(text, found[1], power) * 25.4e-6
    return _finite(text, found[1], power + next((p for name, p in _SPICE_POWERS if letters.startswith(name)), 0))
