"""One rail against what it should read: band, verdict, and on which evidence the verdict stands."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from shouldread.circuit import Limit
from shouldread.diagnosis.rules_of_thumb import (
    RailKind,
    kind_of,
    nominal_spread,
    rule,
    source,
    volts_in_name,
)
from shouldread.errors import ReadingError
from shouldread.quantities import Spread, say

AS_IT_SHOULD, TOO_LOW, TOO_HIGH, CANNOT_TELL = "as it should be", "too low", "too high", "cannot tell"
CALCULATED, COMPARED, RULE_OF_THUMB, NO_EVIDENCE = "calculated", "compared", "rule of thumb", "none"
UNITS: Mapping[str, str] = {"volts": "V", "diode": "V", "ohms": "Ω", "amps": "A"}


class Interval(Protocol):
    """What the display left open: the true value lies between low and high."""

    @property
    def low(self) -> float:
        """Lowest value it may stand for."""

    @property
    def high(self) -> float:
        """Highest value it may stand for."""


@dataclass(frozen=True, slots=True)
class Band:
    """From where to where a rail should read, why, and on which kind of evidence."""

    low: float
    high: float
    evidence: str
    why: str

    def words(self, setting: str) -> str:
        """``4.75 V to 5.25 V``."""
        unit = UNITS[setting]
        return f"{say(self.low, unit, 3)} to {say(self.high, unit, 3)}"


@dataclass(frozen=True, slots=True)
class Judgement:
    """A rail's verdict with its band (None without any evidence) and the reason in words."""

    verdict: str
    evidence: str
    why: str
    band: Band | None = None


def band_of(
    name: str, nominal: Spread | None, good: Interval | None, setting: str, limit: Limit | None = None
) -> Band | None:
    """Where a rail should read: from a good board, its own nominal (a standard's ``limit``), or the volts in its name."""
    if good is not None:
        return _compared(good, setting)
    if setting != "volts":
        return None
    if nominal is not None:
        spread = nominal if nominal.law != "exact" else nominal_spread(nominal.nominal)
        words = "" if limit is None else str(limit)
        if nominal.law == "exact":
            words = f"± {rule('volts', 'tolerance') * 100:g} % assumed, {source('volts')}"
        return Band(spread.low, spread.high, CALCULATED, words)
    told = volts_in_name(name)
    if told is None:
        return None
    spread = nominal_spread(told)
    words = f"{say(told, 'V', 3)} taken from its name, ± {rule('volts', 'tolerance') * 100:g} % assumed"
    return Band(spread.low, spread.high, RULE_OF_THUMB, words)


def _compared(good: Interval, setting: str) -> Band:
    if setting == "ohms":
        factor = rule("compared", "ohms_factor")
        low, high = good.low / factor, good.high * factor
    else:
        room = (
            rule("compared", "diode_volts")
            if setting == "diode"
            else rule("compared", "volts") * max(abs(good.low), abs(good.high))
        )
        low, high = good.low - room, good.high + room
    return Band(low, high, COMPARED, "compared with a good board")


def judge(
    name: str,
    nominal: Spread | None,
    read: Interval | None,
    good: Interval | None,
    setting: str,
    limit: Limit | None = None,
) -> Judgement:
    """The verdict on one rail. Without a reading, or without anything to hold it against: cannot tell."""
    band = band_of(name, nominal, good, setting, limit)
    if read is not None and _is_ok(read):
        return _told_ok(name, band)
    if band is not None:
        return _against(band, read, setting)
    if setting == "volts":
        return Judgement(CANNOT_TELL, NO_EVIDENCE, "its nominal is not known: say what it should be")
    volts = nominal.nominal if nominal is not None else volts_in_name(name)
    kind = kind_of(name, volts)
    if kind is None:
        return Judgement(CANNOT_TELL, NO_EVIDENCE, "no good board and no kind of rail to hold it against")
    return _by_rule(kind, read, setting)


def _is_ok(read: Interval) -> bool:
    """Whether ``ok`` was typed: open on both sides."""
    return math.isinf(read.low) and math.isinf(read.high) and read.low < read.high


def _told_ok(name: str, band: Band | None) -> Judgement:
    if band is None:
        raise ReadingError(f"{name} ok: within what? Say its nominal, or type the figure", value=name)
    return Judgement(AS_IT_SHOULD, band.evidence, f"said to be within {band.words('volts')}", band)


def _against(band: Band, read: Interval | None, setting: str) -> Judgement:
    if read is None:
        return Judgement(CANNOT_TELL, band.evidence, "not read yet" + (f"; {band.why}" if band.why else ""), band)
    verdict = AS_IT_SHOULD
    room = rule("volts", "accuracy")
    if read.high + room * abs(read.high) < band.low:
        verdict = TOO_LOW
    elif read.low - room * abs(read.low) > band.high:
        verdict = TOO_HIGH
    elif _is_loose(read, band):
        return Judgement(CANNOT_TELL, band.evidence, "read too coarsely to tell: type more digits", band)
    why = f"should read {band.words(setting)}" + (f" ({band.why})" if band.why else "")
    return Judgement(verdict, band.evidence, why, band)


def _is_loose(read: Interval, band: Band) -> bool:
    """Whether a reading that overlaps the band could as well lie well outside it."""
    width = band.high - band.low
    return math.isinf(read.low) or math.isinf(read.high) or (read.high - read.low) > 2 * width


def _by_rule(kind: RailKind, read: Interval | None, setting: str) -> Judgement:
    low, high = kind.usual(setting)
    usual = Band(low, high, RULE_OF_THUMB, f"usual for a healthy {kind.name}")
    if read is None:
        return Judgement(CANNOT_TELL, RULE_OF_THUMB, "not read yet", usual)
    words = f"healthy ones usually read {usual.words(setting)} ({kind.name}; {kind.source})"
    if low <= read.high and read.low <= high:
        return Judgement(AS_IT_SHOULD, RULE_OF_THUMB, words, usual)
    short_below = kind.short_below
    if short_below is not None and setting == "diode":
        short_below = rule("cold", "diode_short")
    if short_below is not None and read.high < short_below:
        return Judgement(TOO_LOW, RULE_OF_THUMB, f"near a short; {words}", usual)
    side = "lower" if read.high < low else "higher"
    return Judgement(
        CANNOT_TELL, RULE_OF_THUMB, f"{side} than most, no proof: compare with a good board; {words}", usual
    )
