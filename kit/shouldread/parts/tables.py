"""The figures of the trade, read from the two data files beside this module and checked as they are read."""

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, Literal

from shouldread.errors import QuantityError
from shouldread.parts.kind import Detail, Mode, Row, SpreadRule
from shouldread.parts.severity import Severity

Table = Mapping[str, Any]
_HERE = Path(__file__).parent
_FACTS = ("words", "symbol", "rate", "series")  # of a variety; all its other keys are ways to fail
_LAWS: Mapping[str, Literal["fraction", "factor", "junction volts", "volts"]] = {
    "fraction": "fraction",
    "factor": "factor",
    "junction_volts": "junction volts",
    "volts": "volts",
}


@cache
def table(name: str) -> Table:
    """One of the data files, as nested tables."""
    return tomllib.loads((_HERE / name).read_text(encoding="utf-8"))


def sourced(row: Table) -> str:
    """Where a figure comes from and how well it is known, in one string."""
    status = str(row.get("status", ""))
    source = str(row.get("source", ""))
    return source if not status or status in source else f"{source} ({status})"


def severity_of(letter: str, variety: str, way: str) -> Severity | None:
    """The range of a fault's severity, the variety's own before the kind's, or None when it has none."""
    rows: Table = table("failure_modes.toml")["severity"].get(letter, {})
    row = rows.get(variety, {}).get(way, rows.get(way))
    if row is None:
        return None
    unit: Literal["ohm", "factor"] = "ohm" if "ohms" in row else "factor"
    low, high = (float(bound) for bound in row["ohms" if unit == "ohm" else "factor"])
    if not 0 < low < high:
        raise QuantityError(
            f"failure_modes.toml, severity of {letter} {way}: {low:g} to {high:g} is no range; "
            "write the lower figure first, both above 0",
            value=row,
        )
    return Severity.between(unit, low, high)


def _bench(letter: str, variety: str, way: str) -> tuple[float, str]:
    rows = table("failure_modes.toml")["bench"].get(letter, {})
    for name in (variety, "*"):
        if way in rows.get(name, {}):
            row = rows[name][way]
            return float(row["times"]), sourced(row)
    return 1.0, ""


def _mode(letter: str, variety: str, way: str, row: Table, edits: tuple[Row, ...]) -> Mode:
    times, bench_source = _bench(letter, variety, way)
    return Mode(
        name=way,
        edits=edits,
        share=float(row["share"]),
        severity=severity_of(letter, variety, way),
        bench=times,
        source=sourced(row),
        bench_source=bench_source,
    )


def details_of(letter: str, ways: Mapping[str, tuple[Row, ...]]) -> Mapping[str, Detail]:
    """Every variety of a kind, with those of its declared ways to fail that the data file lists.

    Raises QuantityError when the file lists a way that the kind does not declare, or shares that do not
    sum to 1 (within 0.005).
    """
    out: dict[str, Detail] = {}
    for variety, rows in table("failure_modes.toml")["kind"].get(letter, {}).items():
        listed = [key for key in rows if key not in _FACTS]
        strange = [key for key in listed if key not in ways]
        if strange:
            raise QuantityError(
                f"failure_modes.toml, kind.{letter}.{variety}: no way to fail {strange[0]!r}; "
                f"a {letter} knows {', '.join(ways) or 'none'}",
                value=strange[0],
                known=ways,
            )
        total = sum(float(rows[key]["share"]) for key in listed)
        if listed and abs(total - 1) > 0.005:
            raise QuantityError(
                f"failure_modes.toml, kind.{letter}.{variety}: the shares sum to {total:g}, not to 1",
                value=total,
            )
        name = "" if variety == "plain" else variety
        rate = rows.get("rate", {})
        out[name] = Detail(
            name=name,
            words=str(rows["words"]),
            symbol=str(rows["symbol"]),
            series=bool(rows.get("series", False)),
            rate=float(rate.get("value", 0.0)),
            modes=tuple(_mode(letter, variety, way, rows[way], edits) for way, edits in ways.items() if way in rows),
            source=sourced(rate),
            spreads=spread_rules(letter, name) if name else (),
        )
    return out


def spread_rules(letter: str, variety: str) -> tuple[SpreadRule, ...]:
    """The default spreads of a kind's variety (the plain one when ``variety`` is empty)."""
    rows: Table = table("spreads.toml").get(letter, {})
    if variety:
        rows = rows.get(variety, {})
    rules = []
    for what, row in rows.items():
        laws = [law for law in _LAWS if isinstance(row, Mapping) and law in row]
        if laws:
            law, amount = _LAWS[laws[0]], float(row[laws[0]])
            rules.append(SpreadRule(what, law, amount, str(row["source"]), of_type=bool(row.get("of_type", False))))
    return tuple(rules)


def shared_weight(section: str, way: str) -> tuple[float, str]:
    """Weight (rate x share x bench) of what every part shares, and its source: joints, blocks."""
    rows: Table = table("failure_modes.toml")[section]
    row: Table = rows.get(way, {})
    weight = float(rows["rate"]["value"]) * float(row.get("share", 1.0)) * float(row.get("bench", 1.0))
    return weight, f"{sourced(rows['rate'])}; {sourced(row)}"


def block_figures() -> tuple[float, float]:
    """Failure rate of an IC whose model file states none, and the bench multiplier of all ICs."""
    rows: Table = table("failure_modes.toml")["block"]
    return float(rows["rate"]["value"]), float(rows["bench"]["times"])
