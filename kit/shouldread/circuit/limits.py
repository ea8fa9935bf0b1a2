"""Rail limits that standards state: volts by the name that a rail sheet may write in place of a nominal."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from shouldread.errors import UnknownNameError
from shouldread.quantities import Spread


@dataclass(frozen=True, slots=True)
class Limit:
    """What a standard allows a rail or a line (V, hard limits), and where that is written."""

    name: str
    volts: Spread
    source: str

    def __str__(self) -> str:
        return f"{self.name}: {self.source}"


@cache
def limits() -> Mapping[str, Limit]:
    """Every limit by its name.

    >>> limits()["ISO 16750-2 code C"].volts.low
    9.0
    """
    table = tomllib.loads(Path(__file__).with_name("limits.toml").read_text(encoding="utf-8"))
    found = {}
    for name, row in table.items():
        low, high = row["volts"]
        found[name] = Limit(name, Spread(row["nominal"], low, high, "uniform"), row["source"])
    return found


def limit_named(told: str) -> Limit:
    """The limit of that name, in any case and with or without its spaces. Raises UnknownNameError with the nearest.

    >>> limit_named("usb 2.0 HOST").volts.high
    5.25
    """
    plain = _plain(told)
    for name, limit in limits().items():
        if _plain(name) == plain:
            return limit
    raise UnknownNameError("voltage (such as 5 ± 5 %) and no rail limit", told[:60], limits())


def _plain(name: str) -> str:
    return "".join(name.split()).casefold()
