"""What data sheets state of the generic parts: saturation, thresholds, forward volts, resistors inside."""

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from shouldread.circuit.trace_back import sort_of
from shouldread.parts import Part
from shouldread.quantities import say

# units of the conditions that a figure holds at
_UNITS: Mapping[str, str] = {
    "collector": "A", "base": "A", "drain": "A", "forward": "A", "collector_volts": "V", "input_volts": "V",
    "supply_volts": "V", "reverse_volts": "V", "drive": "V", "series": "Ω", "shunt": "Ω", "load": "Ω",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of a sort of part (SI units): its limits (None where the sheet has none) and what they hold at."""

    sort: str
    what: str
    source: str
    least: float | None = None
    most: float | None = None
    usual: float | None = None
    at: Mapping[str, float] = field(default_factory=dict)

    def __str__(self) -> str:
        unit = _table()["what"][self.what]["unit"]
        told = {"at least": self.least, "at most": self.most, "usually": self.usual}
        limits = [f"{word} {_said(value, unit)}" for word, value in told.items() if value is not None]
        if self.least is not None and self.most is not None:
            limits[:2] = [f"{_said(self.least, unit)} to {_said(self.most, unit)}"]
        at = [f"{name.replace('_', ' ')} {_said(value, _UNITS.get(name, unit))}" for name, value in self.at.items()]
        return f"{', '.join(limits)}{' at ' if at else ''}{', '.join(at)}"


def _said(value: float, unit: str) -> str:
    return say(value, unit, 3) if unit else f"{value:g}"


@cache
def _table() -> Mapping[str, Any]:
    return tomllib.loads(Path(__file__).with_name("figures.toml").read_text(encoding="utf-8"))


@cache
def figures() -> tuple[Figure, ...]:
    """Every figure of every sort.

    >>> print(next(f for f in figures() if f.sort == "schottky power"))
    at most 0.5 V at forward 3 A
    """
    return tuple(Figure(**row) for row in _table()["figure"])


def figures_of(part: Part) -> tuple[Figure, ...]:
    """What data sheets state of parts of this one's sort; none for a model that is not the kit's generic one."""
    sort = sort_of(part)
    return tuple(figure for figure in figures() if sort is not None and figure.sort == sort.name)


def told_figures(found: Iterable[Figure]) -> Iterator[str]:
    """A line for each figure and sheet: ``gain: at least 40 at collector 100 µA; at least 70 ... (data sheet ...)``."""
    lines: dict[tuple[str, str], list[str]] = {}
    for figure in found:
        lines.setdefault((figure.what, figure.source), []).append(str(figure))
    for (what, source), told in lines.items():
        yield f"{_table()['what'][what]['said']}: {'; '.join(told)} ({source})"
