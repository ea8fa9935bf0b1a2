"""What is usual on a rail when nothing better is known: figures of the trade, each with its source."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from shouldread.quantities import Spread

_FILE = Path(__file__).with_name("rules_of_thumb.toml")
# 5V, 3V3, 12V_AUX, VDD_1V2, +5V, 3.3V, 5VSB: digits, V, digits; a letter before the digits ends it
_VOLTS_IN_NAME = re.compile(r"(?<![0-9.])([+-]?)(\d{1,2})(?:\.(\d{1,2}))?V(\d{0,2})(?![0-9])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class RailKind:
    """A kind of rail: what healthy ones usually show cold (ohms, diode volts), and from where on it is suspect.

    ``short_below`` is None where healthy rails read so low that ohms alone never show a short.
    """

    name: str
    source: str
    usual_ohms: tuple[float, float]
    usual_diode: tuple[float, float]
    short_below: float | None
    words: tuple[str, ...]
    nominal: tuple[float, float] | None
    is_input: bool = False

    def usual(self, setting: str) -> tuple[float, float]:
        """The usual span at a cold setting."""
        return self.usual_diode if setting == "diode" else self.usual_ohms


@cache
def rules() -> Mapping[str, object]:
    """The whole table as data."""
    return tomllib.loads(_FILE.read_text(encoding="utf-8"))


def rule(table: str, key: str) -> float:
    """One figure, such as ``rule("enable", "threshold")``."""
    section = rules()[table]
    assert isinstance(section, dict)
    return float(section[key])


def source(table: str) -> str:
    """Where the figures of a table come from."""
    section = rules()[table]
    assert isinstance(section, dict)
    return str(section["source"])


@cache
def rail_kinds() -> tuple[RailKind, ...]:
    """Every kind of rail of the table, most telling first."""
    rows = rules()["kind"]
    assert isinstance(rows, list)
    return tuple(
        RailKind(
            row["name"],
            row["source"],
            tuple(row["usual_ohms"]),
            tuple(row["usual_diode"]),
            row.get("short_below"),
            tuple(row.get("words", ())),
            tuple(row["nominal"]) if "nominal" in row else None,
            bool(row.get("input", False)),
        )
        for row in rows
    )


def volts_in_name(name: str) -> float | None:
    """The volts that a rail's name tells: ``3V3`` 3.3, ``12V_AUX`` 12, ``-5V`` -5; None when it tells none."""
    found = _VOLTS_IN_NAME.search(name)
    if not found:
        return None
    sign, whole, point, after = found.groups()
    decimals = point or after
    value = float(f"{whole}.{decimals}" if decimals else whole)
    return -value if sign == "-" else value


def nominal_spread(volts: float) -> Spread:
    """A nominal with the tolerance that most logic rails keep."""
    return Spread.uniform(volts, rule("volts", "tolerance"))


def kind_of(name: str, volts: float | None) -> RailKind | None:
    """The kind of rail that a name's words tell, else the one that its volts suggest, else None."""
    words = {word for word in re.split(r"[^a-z]+", name.casefold()) if word}
    for kind in rail_kinds():
        if words & set(kind.words):
            return kind
    if volts is None:
        return None
    for kind in rail_kinds():
        if kind.nominal and kind.nominal[0] <= abs(volts) < kind.nominal[1]:
            return kind
    return None
