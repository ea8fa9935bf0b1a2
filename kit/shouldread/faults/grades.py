"""How bad a fault is, as people write it: a factor, a percentage, a value, or ohms."""

import math
import re

from shouldread.errors import RequestError
from shouldread.faults.fault import Fault
from shouldread.parts import KINDS, Part, number_of
from shouldread.quantities import si_number

_FACTOR = re.compile(r"[x×*]\s*(.+)", re.IGNORECASE)
_PERCENT = re.compile(r"([+-])\s*(.+?)\s*%")


def read_severity(part: Part, sides: tuple[Fault, ...], figure: str) -> Fault:
    """The one of ``sides`` (high and low of a drift, else one fault) that the figure fits, that bad.

    Raises RequestError when the fault has no degrees or the figure goes the other way, QuantityError when it
    cannot be read.
    """
    first = sides[0]
    if first.severity_range is None:
        raise RequestError(_no_degrees(part, first, figure), value=figure)
    if first.severity_range.unit == "ohm":
        return first.with_severity(_positive(first, si_number(figure)[0], figure))
    factor = _positive(first, _factor(part, first, figure), figure)
    against = "low" if factor >= 1 else "high"
    chosen = [fault for fault in sides if fault.mode.rpartition(" ")[2] != against]
    if not chosen:
        raise RequestError(
            f"{first.name} {figure} contradicts itself: a factor of {factor:.4g} is the other way",
            value=figure,
        )
    return chosen[0].with_severity(factor)


def _factor(part: Part, fault: Fault, figure: str) -> float:
    """The factor that a figure means: ``x4``, ``+40 %``, or the value that the number has become."""
    if hit := _FACTOR.fullmatch(figure):
        return si_number(hit[1])[0]
    if hit := _PERCENT.fullmatch(figure):
        return 1 + (1 if hit[1] == "+" else -1) * si_number(hit[2])[0] / 100
    mode = next((m for m in KINDS[part.kind].detail_of(part).modes if m.name == fault.mode), None)
    scaled = [str(row[1]) for row in mode.edits if row[0] == "scale"] if mode is not None else []
    number = number_of(part, scaled[0]) if scaled else None
    if number is None:
        raise RequestError(f"{fault.name} {figure}: write how much it is off, as x1.1 or +10 %", value=figure)
    return si_number(figure)[0] / number.nominal


def _positive(fault: Fault, severity: float, figure: str) -> float:
    if not (severity > 0 and math.isfinite(severity)):
        raise RequestError(f"{fault.name} {figure}: how bad it is must be a figure above 0", value=figure)
    return severity


def _no_degrees(part: Part, fault: Fault, figure: str) -> str:
    graded = [m.name for m in KINDS[part.kind].detail_of(part).modes if m.severity is not None]
    other = f"; with a figure there is {part.name} {' or '.join(graded)}" if graded else ""
    return f"{fault.name} knows no degrees, so leave {figure!r} out{other}"
