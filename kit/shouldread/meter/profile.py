"""Meter: what a meter puts on its leads, how far its ranges reach and how well they tell."""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

from shouldread.errors import KitError, RequestError, UnknownNameError
from shouldread.meter.setting import SETTINGS
from shouldread.quantities import read_number

DEFAULT = "handheld"
MAX_TEXT = 256_000  # bytes of a profile


@dataclass(frozen=True, slots=True)
class Range:
    """One range: the value it shows least above, the worth of its last digit, and its accuracy (SI units).

    Accuracy is ``percent`` of the reading plus ``digits`` counts of the last digit. ``open_volts``,
    ``short_amps`` and ``lead_ohms`` describe the source of an ohms or diode range.
    """

    top: float
    resolution: float
    percent: float
    digits: float
    open_volts: float = 0.0
    short_amps: float = 0.0
    lead_ohms: float = 0.0

    @property
    def source_ohms(self) -> float:
        """The meter's own resistance behind its open-circuit volts, without leads."""
        return self.open_volts / self.short_amps if self.short_amps else 0.0

    def counts_of(self, value: float) -> int:
        """The value in counts of the last digit, halves rounded away from zero."""
        counts = math.floor(abs(value) / self.resolution + 0.5 + 1e-9)
        return -counts if value < 0 else counts

    def shows(self, value: float) -> bool:
        """Whether the display can show the value: beyond it says OL."""
        return math.isfinite(value) and abs(self.counts_of(value)) < round(self.top / self.resolution)


@dataclass(frozen=True, slots=True)
class Meter:
    """A meter profile. Ranges of each setting stand in rising order."""

    name: str
    about: str
    input_ohms: float
    counts: int
    beeps_below: float
    volts: tuple[Range, ...]
    ohms: tuple[Range, ...]
    diode: tuple[Range, ...]
    amps: tuple[Range, ...]
    source: str = ""

    def ranges(self, setting: str) -> tuple[Range, ...]:
        """The ranges of a setting, lowest first. Raises UnknownNameError for a setting that there is not."""
        by_name = {"volts": self.volts, "ohms": self.ohms, "diode": self.diode, "amps": self.amps}
        if setting not in by_name:
            raise UnknownNameError("setting", setting, SETTINGS)
        return by_name[setting]

    def top(self, setting: str) -> float:
        """The value from which on the meter shows OL."""
        return self.ranges(setting)[-1].top


MeterLike = Meter | str | Mapping[str, object] | None  # whatever ``meter()`` takes


@cache
def _shipped() -> Mapping[str, Meter]:
    text = (files("shouldread.meter") / "profiles.toml").read_text(encoding="utf-8")
    return {name: _meter(name, table) for name, table in tomllib.loads(text).items()}


def meter_names() -> tuple[str, ...]:
    """The profiles that come with the kit."""
    return tuple(_shipped())


def meter(profile: MeterLike = None) -> Meter:
    """A meter by name, from TOML text (anything with a newline) or a mapping; None is the default handheld.

    An own profile states what differs from the one it is ``like``::

        like = "handheld"
        ohms = [{ tops = ["60k"], accuracy = "1 % + 2", open_volts = "1.2 V", short_amps = "100 uA" }]

    Raises UnknownNameError for a name, RequestError for a profile that cannot be read.

    >>> meter("bench").input_ohms
    10000000.0
    """
    if isinstance(profile, Meter):
        return profile
    if isinstance(profile, Mapping):
        return _own(profile)
    name = DEFAULT if profile is None else profile
    if "\n" in name:
        return _own(_table(name))
    if name not in _shipped():
        raise UnknownNameError("meter", name, _shipped())
    return _shipped()[name]


def _table(text: str) -> Mapping[str, object]:
    if len(text) > MAX_TEXT:
        raise RequestError(f"a meter profile of more than {MAX_TEXT} characters is not read", value=text[:40])
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as trouble:
        raise RequestError(f"the meter profile is not TOML: {trouble}", value=text) from trouble


_KEYS = ("name", "like", "about", "input_ohms", "counts", "beeps_below", "source", *SETTINGS)
_ROW_KEYS = ("tops", "accuracy", "open_volts", "short_amps", "lead_ohms")


def _own(table: Mapping[str, object]) -> Meter:
    like = table.get("like", DEFAULT)
    base = meter(str(like) if "\n" not in str(like) else DEFAULT)
    return _meter(str(table.get("name", "own meter"))[:40], table, base)


def _known(table: Mapping[str, object], keys: tuple[str, ...], where: str) -> None:
    for key in table:
        if key not in keys:
            raise UnknownNameError("key", str(key)[:40], keys, where)


def _meter(name: str, table: Mapping[str, object], base: Meter | None = None) -> Meter:
    where = f"the meter profile {name!r}"
    _known(table, _KEYS, where)
    if base is None:
        base = Meter(name, "", 10e6, 0, 0.0, (), (), (), ())
    counts = int(_number(table, "counts", where, base.counts))
    found = replace(
        base,
        name=name,
        about=str(table.get("about", base.about)),
        source=str(table.get("source", base.source)),
        counts=counts,
        input_ohms=_number(table, "input_ohms", where, base.input_ohms),
        beeps_below=_number(table, "beeps_below", where, base.beeps_below),
    )
    if counts < 1 or found.input_ohms <= 0:
        raise RequestError(f"{where}: counts and input_ohms are positive numbers", value=name)
    given = {key: _ranges(table[key], counts, f"{where}, {key}") for key in SETTINGS if key in table}
    for row in (*given.get("ohms", ()), *given.get("diode", ())):
        if row.open_volts <= 0 or row.short_amps <= 0:
            raise RequestError(f"{where}: ranges of ohms and diode need open_volts and short_amps", value=name)
    return replace(
        found,
        volts=given.get("volts", base.volts),
        ohms=given.get("ohms", base.ohms),
        diode=given.get("diode", base.diode),
        amps=given.get("amps", base.amps),
    )


def _number(table: Mapping[str, object], key: str, where: str, default: float | None = None) -> float:
    value = table.get(key, default)
    try:
        if isinstance(value, str):
            return read_number(value).value
        if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
            return float(value)
    except KitError as trouble:
        raise RequestError(f"{where}: {key}: {trouble}", value=value) from trouble
    raise RequestError(f"{where}: {key} is a number such as 0.1 or '100 uA', not {value!r}", value=value)


def _accuracy(text: object, where: str) -> tuple[float, float]:
    percent, plus, digits = str(text).partition("+")
    try:
        amount = read_number(percent)
        counts = read_number(digits) if plus else None
    except KitError as trouble:
        raise RequestError(f"{where}: write accuracy as '0.5 % + 2': {trouble}", value=text) from trouble
    if amount.unit != "%" or amount.value < 0 or (counts is not None and counts.value < 0):
        raise RequestError(f"{where}: write accuracy as '0.5 % + 2', not {str(text)[:40]!r}", value=text)
    return amount.value, counts.value if counts is not None else 0.0


def _last_digit(top: float, counts: int) -> float:
    """A display of so many counts resolves the next power of ten above top / counts."""
    return 10.0 ** math.ceil(math.log10(top / counts) - 1e-9)


def _ranges(rows: object, counts: int, where: str) -> tuple[Range, ...]:
    if not isinstance(rows, list) or not rows:
        raise RequestError(
            f'{where}: write a list of ranges, [{{ tops = ["60k"], accuracy = "1 % + 2" }}]', value=rows
        )
    found: list[Range] = []
    for row in rows:
        if not isinstance(row, Mapping):
            raise RequestError(f"{where}: a range is a table with tops and accuracy, not {row!r}", value=row)
        _known(row, _ROW_KEYS, where)
        percent, digits = _accuracy(row.get("accuracy", "0 %"), where)
        source = [_number(row, key, where, 0.0) for key in ("open_volts", "short_amps", "lead_ohms")]
        tops = row.get("tops")
        for at, _ in enumerate(tops if isinstance(tops, list) else ()):
            top = _number({"tops": tops[at]}, "tops", where)  # type: ignore[index]
            if top <= 0 or min(source) < 0:
                raise RequestError(f"{where}: tops are positive and sources not negative", value=row)
            found.append(Range(top, _last_digit(top, counts), percent, digits, *source))
    if not found:
        raise RequestError(f'{where}: no range has tops, such as tops = ["600 mV", "6 V"]', value=rows)
    return tuple(sorted(found, key=lambda r: r.top))
