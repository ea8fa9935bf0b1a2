"""Fault table: what every point reads under every fault, what moves nothing, and what the meter itself sets."""

import re
import textwrap
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shouldread.circuit import Circuit
from shouldread.diagnosis.band import Band
from shouldread.diagnosis.expectation import Expectation, expect
from shouldread.diagnosis.judge import CANNOT_TELL
from shouldread.meter import Meter, Reading

if TYPE_CHECKING:
    import pandas

LETTERS = 118  # of a line of text


@dataclass(frozen=True, slots=True)
class FaultTable:
    """By fault, by point: the band read there. ``healthy`` by point.

    ``moves_nothing``: faults whose every reading may be that of a good board. ``meter_sets``: points where the meter
    makes the reading, on a good board, with why.
    """

    title: str
    healthy: Mapping[str, Band]
    under: Mapping[str, Mapping[str, Band]]
    moves_nothing: tuple[str, ...]
    meter_sets: Mapping[str, str]
    setting: str = "volts"

    def moved(self, fault: str) -> tuple[str, ...]:
        """The points that a fault's typical reading takes out of the healthy band."""
        return tuple(at for at, band in self.under[fault].items() if not self.healthy[at].holds(band.typical))

    @property
    def far_gone(self) -> tuple[str, ...]:
        """The faults that move no point as they typically are, and some point when they are worse."""
        return tuple(fault for fault in self.under if fault not in self.moves_nothing and not self.moved(fault))

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences on what no row shows: faults that move nothing, and points that the meter itself sets."""
        said = ("Moves a reading only when far gone", self.far_gone), ("Moves nothing", self.moves_nothing)
        lines = [f"{words}: {by_part(faults)}" for words, faults in said if faults]
        return (*lines, *(f"{at}: {why}" for at, why in self.meter_sets.items()))

    def frame(self) -> "pandas.DataFrame":
        """A table in words: a row for each fault (healthy first), a column for each point."""
        import pandas

        rows = {"healthy": {at: band.short for at, band in self.healthy.items()}}
        rows |= {fault: {at: band.short for at, band in bands.items()} for fault, bands in self.under.items()}
        return pandas.DataFrame.from_dict(rows, orient="index", columns=list(self.healthy))

    def __str__(self) -> str:
        wide = max([7, *(len(fault) for fault in self.under)])
        rows = {"healthy": [f"{at} {band.short}" for at, band in self.healthy.items()]}
        rows |= {fault: [f"{at} {self.under[fault][at].short}" for at in self.moved(fault)] for fault in self.under}
        lines = [self.title]
        for name, told in rows.items():
            if told:
                lines += _wrapped(f"  {name:<{wide}}  ", ", ".join(told))
        for note in self.notes:
            lines += _wrapped("", note, "  ")
        return "\n".join(lines)


def by_part(faults: Iterable[str]) -> str:
    """Faults with each part named once: ``R1 open, short; R2 open``."""
    ways: dict[str, list[str]] = {}
    for fault in faults:
        part, _, way = fault.partition(" ")
        ways.setdefault(part, []).append(way)
    return "; ".join(f"{part} {', '.join(told)}" for part, told in ways.items())


def _wrapped(head: str, text: str, indent: str = "") -> list[str]:
    """Lines of at most LETTERS, the first after ``head``; no reading is torn from its point."""
    glued = re.sub(r"(?<![,;]) ", "\N{NO-BREAK SPACE}", text) if head else text
    return [
        line.replace("\N{NO-BREAK SPACE}", " ")
        for line in textwrap.wrap(
            glued, LETTERS, initial_indent=head, subsequent_indent=indent or " " * len(head), break_long_words=False
        )
    ]


def fault_table(
    circuit: Circuit, *, setting: str = "volts", state: str | None = None, meter: Meter | str | None = None
) -> FaultTable:
    """What every point reads under every single fault, beside what it reads on a good board (bands in SI units).

    Raises UnknownNameError for a state, setting or meter that is not there.

    >>> import shouldread as sr
    >>> t = sr.fault_table(sr.load_circuit("* divider\\nV1 IN 0 12\\nR1 IN MID 10k\\nR2 MID 0 10k\\n"))
    >>> t.under["R2 open"]["MID"].short, t.moved("R2 open")
    ('11.99 V', ('MID',))
    """
    told = expect(circuit, setting=setting, state=state, meter=meter)
    healthy = {at: told[at].healthy for at in told}
    bands = {at: told[at].under_each(circuit.faults) for at in told}
    under = {fault: {at: bands[at][fault] for at in told} for fault in circuit.faults}
    still = tuple(fault for fault, bands in under.items() if all(_within(bands[at], healthy[at]) for at in healthy))
    name = f"{circuit.title or circuit.name}: {setting} @{told.state.replace('_', ' ')}"
    return FaultTable(name, healthy, under, still, _meter_sets(told), told.setting)


def _within(band: Band, healthy: Band) -> bool:
    """Whether a fault's reading may be a good board's at all degrees of it."""
    return healthy.holds(band.typical) and band.high - band.low <= 1.5 * (healthy.high - healthy.low) + 1e-3


def _meter_sets(told: Expectation) -> Mapping[str, str]:
    if told.setting != "volts":
        return {}
    out = {}
    for at in told:
        verdict, why = told.judge.told(Reading(at, 0.0, "volts", told.state))
        if verdict == CANNOT_TELL and ("meter" in why):
            out[at] = why
    return out
