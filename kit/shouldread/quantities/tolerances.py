"""Values with their tolerance as people write them: ``22k 5%``, ``2.3 V ± 5 %``, ``1k..100k``, ``?``."""

import math
import re

from shouldread.errors import QuantityError
from shouldread.quantities.numbers import MAX_LENGTH, TypedNumber, read_number
from shouldread.quantities.spread import Spread
from shouldread.quantities.symbols import plain_signs

_SIGNS = re.compile(r"\+/-|\+-|±")
_BARE_PERCENT = re.compile(r"[ ]([\d.,]+[ ]?%)$", re.ASCII)
_UNEVEN = re.compile(r"[ ]([+-][\d.,]+)[ ]?%?[ ]?/[ ]?([+-][\d.,]+)[ ]?%$", re.ASCII)


def _number(text: str, kind_unit: str) -> TypedNumber:
    number = read_number(text)
    if number.unit and kind_unit and number.unit != kind_unit:
        raise QuantityError(f"{text.strip()!r} is in {number.unit}; a value in {kind_unit} is meant here", value=text)
    return number


def read_spread(text: str | float, kind_unit: str = "", unreadable: tuple[float, float] | None = None) -> Spread:
    """Read a value with what is unsure about it.

    ``22k``: exact. ``22k 5%``, ``22k ± 5 %``, ``2.3 V +- 0.1 V``: hard limits. ``10u -20/+80 %``: uneven ones.
    ``1k..100k``: a range, log-uniform when wide. ``?``: anywhere in ``unreadable``, the span of the part's
    kind. A plain number is taken as exact. ``kind_unit`` is the unit that is meant; another one raises
    QuantityError, as does anything unreadable.

    >>> read_spread("22k 5%")
    Spread(nominal=22000.0, low=20900.0, high=23100.0, law='uniform')
    """
    if isinstance(text, int | float):
        if not math.isfinite(text):
            raise QuantityError(f"a value is a finite number, not {text}", value=text)
        return Spread.exact(float(text))
    if len(text) > MAX_LENGTH:
        raise QuantityError(f"{text[:37]!r}... is too long for a value", value=text)
    plain = plain_signs(text).strip()
    if plain == "?":
        if unreadable is None:
            raise QuantityError("'?' needs a part whose kind gives it a span; write a range: 1k..100k", value=text)
        return Spread.between(*unreadable)
    if ".." in plain:
        low, _, high = plain.partition("..")
        ends = sorted(_number(end, kind_unit).value for end in (low, high))
        return Spread.exact(ends[0]) if ends[0] == ends[1] else Spread.between(ends[0], ends[1])
    return _toleranced(plain, kind_unit)


def _toleranced(plain: str, kind_unit: str) -> Spread:
    uneven = _UNEVEN.search(plain)
    if uneven is not None:
        value = _number(plain[: uneven.start()], kind_unit).value
        sides = sorted(_number(side, "").value / 100 for side in uneven.groups())
        if not -1 < sides[0] <= 0 <= sides[1]:
            raise QuantityError(f"{plain!r}: write an uneven tolerance as -20/+80 %", value=plain)
        ends = sorted((value * (1 + sides[0]), value * (1 + sides[1])))
        return Spread(value, ends[0], ends[1], "uniform")
    pieces = _SIGNS.split(plain)
    if len(pieces) == 1:
        bare = _BARE_PERCENT.search(plain)
        pieces = [plain] if bare is None else [plain[: bare.start()], bare[1]]
    if len(pieces) > 2:
        raise QuantityError(f"{plain!r} has two tolerances; write one, such as 22k ± 5 %", value=plain)
    number = _number(pieces[0], kind_unit)
    return Spread.exact(number.value) if len(pieces) == 1 else _within(number, pieces[1], kind_unit, plain)


def _within(number: TypedNumber, tolerance: str, kind_unit: str, plain: str) -> Spread:
    amount = read_number(tolerance)
    if amount.value < 0:
        raise QuantityError(f"{plain!r}: a tolerance is not negative", value=plain)
    if amount.unit == "%":
        if amount.value >= 100:
            raise QuantityError(
                f"{plain!r}: a tolerance below 100 % is meant; for a wide span write a range: 1k..100k", value=plain
            )
        return Spread.uniform(number.value, amount.value / 100) if amount.value else Spread.exact(number.value)
    if amount.unit and (number.unit or kind_unit) and amount.unit != (number.unit or kind_unit):
        raise QuantityError(f"{plain!r}: tolerance and value are in different units", value=plain)
    if amount.value == 0:
        return Spread.exact(number.value)
    return Spread(number.value, number.value - amount.value, number.value + amount.value, "uniform")
