"""What a technician types for a display: ``12.1``, ``4k7``, ``OL``, ``>2M``, ``0..4.9``, ``beeps``, ``rising``."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from shouldread.errors import QuantityError, ReadingError
from shouldread.meter.profile import Meter
from shouldread.meter.setting import BY_UNIT, SETTINGS
from shouldread.quantities import TypedNumber, plain_signs, read_number

Form = Literal["number", "about", "between", "above", "below", "over", "rising", "beeps", "no beep", "dead", "ok"]
DEAD_BELOW = 0.7  # volts: a dead line may sit at the volts of a junction (common practice, no source)
ABOUT = 0.2  # ~0.6 is 0.6 ± 20 %
SURE_UNITS = frozenset({"k", "K", "M", "Meg", "meg", "MEG", "G", "T"})  # bare, these may be volts or ohms: ask

_WORDS: Mapping[str, Form] = {
    "ol": "over",
    "o.l": "over",
    "o.l.": "over",
    "0l": "over",
    "-ol": "over",
    "beeps": "beeps",
    "beep": "beeps",
    "no beep": "no beep",
    "dead": "dead",
    "missing": "dead",
    "ok": "ok",
    "rising": "rising",
}
_SIGNS: tuple[tuple[str, Form], ...] = (
    (">=", "above"), ("<=", "below"), (">", "above"), ("<", "below"), ("≥", "above"), ("≤", "below"), ("~", "about"),
    ("≈", "about"),
)  # fmt: skip
_IMPLIES: Mapping[Form, str] = {"beeps": "ohms", "no beep": "ohms", "rising": "ohms", "dead": "volts"}


@dataclass(frozen=True, slots=True)
class Typed:
    """A value as typed, before it is known what the meter was set to.

    ``implies`` is the setting that it names by itself, or ""; ``asks`` is why it needs one, or "".
    ``numbers`` are the one or two figures in it.
    """

    text: str
    form: Form
    numbers: tuple[TypedNumber, ...] = ()
    implies: str = ""
    asks: str = ""


@dataclass(frozen=True, slots=True)
class Shown:
    """What the display may have shown: ``value`` in SI, between ``low`` and ``high``."""

    form: Form
    value: float
    low: float
    high: float


def read_typed(text: str) -> Typed:
    """Read the value of a reading as typed. Raises QuantityError saying what to write.

    >>> read_typed("4k7").implies, read_typed("3V3").implies, read_typed("1.2k").asks != ""
    ('ohms', 'volts', True)
    """
    plain = " ".join(plain_signs(text).split())
    words = plain.casefold()
    if words in _WORDS:
        form = _WORDS[words]
        return Typed(plain, form, implies=_IMPLIES.get(form, ""), asks="of what?" if form == "over" else "")
    if words.endswith(" rising"):
        number = read_number(plain[: -len(" rising")])
        return Typed(plain, "rising", (number,), _implied(plain, (number,)) or "ohms")
    if ".." in plain:
        return _between(plain)
    for sign, form in _SIGNS:
        if plain.startswith(sign):
            return _with_number(plain, plain[len(sign) :], form)
    return _with_number(plain, plain, "number")


def _with_number(plain: str, figure: str, form: Form) -> Typed:
    number = read_number(figure)
    return Typed(plain, form, (number,), _implied(plain, (number,)), _unsure(number))


def _between(plain: str) -> Typed:
    low, high = (read_number(end) for end in plain.split("..", 1))
    if high.prefix and not low.prefix and not low.unit and low.value != 0:
        raise QuantityError(f"{plain!r}: write the prefix on both ends, such as 1.2k..1.4k", value=plain)
    numbers = (low, high) if low.value <= high.value else (high, low)
    implies = _implied(plain, (low, high))
    return Typed(plain, "between", numbers, implies, _unsure(low) or _unsure(high) if not implies else "")


def _implied(plain: str, numbers: tuple[TypedNumber, ...]) -> str:
    """The setting that units and letters in the digits name: ``4k7`` and ``4R7`` are ohms, ``3V3`` volts."""
    named = set()
    for number in numbers:
        if number.unit and number.unit not in BY_UNIT:
            raise QuantityError(f"{plain!r}: a meter shows V, Ω or A here, not {number.unit}", value=plain)
        if number.infix and number.prefix in SURE_UNITS and number.unit not in ("", "Ω"):
            raise QuantityError(
                f"{plain!r}: a letter inside the digits is ohms, but the unit says {number.unit}", value=plain
            )
        if number.unit:
            named.add(BY_UNIT[number.unit])
        elif number.infix:
            if number.prefix in ("u", "n", "p", "f"):
                raise QuantityError(f"{plain!r}: ohms are never written with {number.prefix}", value=plain)
            named.add("ohms")
    if len(named) > 1:
        raise QuantityError(f"{plain!r} mixes units", value=plain)
    return named.pop() if named else ""


def _unsure(number: TypedNumber) -> str:
    if number.prefix in SURE_UNITS and not number.unit and not number.infix:
        return "is that ohms or volts?"
    return ""


def settled(typed: Typed, setting: str, meter: Meter) -> Shown:
    """What a typed value means on a setting: the interval that its digits, or its words, leave open.

    Raises ReadingError for a value that the setting cannot show.
    """
    fits = typed.implies in ("", setting) or (typed.implies == "volts" and SETTINGS[setting].unit == "V")
    if not fits and not (typed.form == "rising" and setting == "diode" and not _implied(typed.text, typed.numbers)):
        raise ReadingError(f"{typed.text} is {typed.implies}, not {setting}", value=typed.text)
    least = 0.0 if setting == "ohms" else -math.inf
    shown = _interval(typed, setting, meter, least)
    if setting == "ohms" and shown.high < 0:
        raise ReadingError(
            f"{typed.text}: ohms below zero mean that charge is left on the board; discharge it and read again",
            value=typed.text,
        )
    return Shown(shown.form, shown.value, max(shown.low, least), shown.high) if setting == "ohms" else shown


def _interval(typed: Typed, setting: str, meter: Meter, least: float) -> Shown:
    form, first = typed.form, typed.numbers[0] if typed.numbers else None
    if form == "over" and typed.text.startswith("-"):
        return Shown(form, -math.inf, -math.inf, -meter.top(setting))
    if form == "over":
        return Shown(form, math.inf, meter.top(setting), math.inf)
    if form == "beeps":
        return Shown(form, 0.0, 0.0, meter.beeps_below)
    if form == "no beep":
        return Shown(form, math.inf, meter.beeps_below, math.inf)
    if form == "dead":
        return Shown(form, 0.0, -DEAD_BELOW, DEAD_BELOW)
    if first is None:  # rising without a figure, or ok without a band yet
        return Shown(form, 0.0, least, math.inf)
    if form == "above":
        return Shown(form, first.value, first.value, math.inf)
    if form == "below":
        return Shown(form, first.value, least, first.value)
    if form == "rising":
        return Shown(form, first.value, first.low, math.inf)
    if form == "between":
        low, high = typed.numbers[0].value, typed.numbers[1].value
        return Shown(form, (low + high) / 2, low, high)
    half = max(ABOUT * abs(first.value), first.step / 2) if form == "about" else first.step / 2
    return Shown(form, first.value, first.value - half, first.value + half)
