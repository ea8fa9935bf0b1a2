"""What a display shows of a true value: range, digits, OL; and how far it may be off."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shouldread.meter.profile import Meter, Range
from shouldread.meter.setting import setting_named

RISING = "rising"
_PREFIXES = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"))


@dataclass(frozen=True, slots=True)
class Display:
    """What the meter shows: ``value`` in SI as the digits say it (inf for OL, nan when nothing steady shows).

    ``text`` is how a technician would type it, and reads back as a reading's value. ``words`` says what is
    odd about it, if anything.
    """

    setting: str
    value: float
    text: str
    range: Range
    rising: bool = False
    words: str = ""

    @property
    def over(self) -> bool:
        """Whether the display says OL."""
        return math.isinf(self.value)

    def __str__(self) -> str:
        return self.text


def pick_range(ranges: Sequence[Range], values: Sequence[float]) -> int:
    """Where autoranging from the top down stops, given what each range would show.

    A range is left for the next lower one when that one can show the value, and does when it is there.
    """
    at = len(ranges) - 1
    while at > 0 and ranges[at].shows(values[at]) and ranges[at - 1].shows(values[at]):
        if not ranges[at - 1].shows(values[at - 1]):
            break
        at -= 1
    return at


def range_for(meter: Meter, setting: str, value: float) -> Range:
    """The range on which autoranging shows a value that does not depend on the range."""
    ranges = meter.ranges(setting)
    return ranges[pick_range(ranges, [value] * len(ranges))]


def _in_digits(value: float, within: Range, unit: str) -> str:
    """The digits of the range with its unit: ``5.714 V``, ``47.00 kΩ``, ``12.5 mV``."""
    size = within.top * (1 - 1e-9)
    scale, prefix = next((row for row in _PREFIXES if size >= row[0]), _PREFIXES[-1])
    decimals = max(0, round(math.log10(scale / within.resolution)))
    return f"{within.counts_of(value) * (within.resolution / scale):.{decimals}f} {prefix}{unit}"


def shown(meter: Meter, setting: str, value: float, within: Range | None = None, *, rising: bool = False) -> Display:
    """Imitate the display for a true value (SI), on the range given or the one that autoranging picks.

    Raises UnknownNameError for a setting that there is not.

    >>> from shouldread.meter.profile import meter
    >>> str(shown(meter(), "volts", 12 * 10 / 21)), str(shown(meter(), "ohms", 1e9))
    ('5.714 V', 'OL')
    """
    picked = within if within is not None else range_for(meter, setting, value)
    tail = f" {RISING}" if rising else ""
    if math.isnan(value):
        return Display(setting, value, "unknown", picked, words="no reading")
    if not picked.shows(value):
        return Display(setting, math.copysign(math.inf, value), "OL" if value > 0 else "-OL", picked, rising)
    digits = picked.counts_of(value) * picked.resolution + 0.0
    return Display(setting, digits, _in_digits(value, picked, setting_named(setting).unit) + tail, picked, rising)


def display(meter: Meter, setting: str, value: float) -> str:
    """What the display shows of a true value, as text."""
    return shown(meter, setting, value).text


def limit(meter: Meter, setting: str, value: float, within: Range | None = None) -> float:
    """How far a reading may be off by the meter's specification: percent of it plus counts (SI)."""
    picked = within if within is not None else range_for(meter, setting, value)
    size = abs(value) if math.isfinite(value) else picked.top
    return picked.percent / 100 * size + picked.digits * picked.resolution


def noise(meter: Meter, setting: str, value: float, within: Range | None = None) -> tuple[float, float]:
    """The specification as two errors: sigma of the gain, as a fraction, and sigma of the counts, in SI units.

    The gain is one and the same for all readings of a range; the counts are fresh at each reading. The
    specified limit is taken as two sigma (common practice, no source).
    """
    picked = within if within is not None else range_for(meter, setting, value)
    return picked.percent / 200, picked.digits * picked.resolution / 2
