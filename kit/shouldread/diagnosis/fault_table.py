"""Fault table: every point under every fault, what moves nothing, and what the meter itself sets."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shouldread.circuit import Circuit
from shouldread.diagnosis.band import Band
from shouldread.diagnosis.expectation import expect
from shouldread.meter import Meter

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True, slots=True)
class FaultTable:
    """``healthy`` {place: Band} and ``under`` {fault: {place: Band}}, as the meter shows them in one state.

    ``silent``: faults that move no place out of its healthy band. ``moved``: for each fault the places it moves.
    """

    title: str
    state: str
    setting: str
    healthy: Mapping[str, Band]
    under: Mapping[str, Mapping[str, Band]]
    moved: Mapping[str, tuple[str, ...]]
    silent: tuple[str, ...]

    def frame(self) -> "pandas.DataFrame":
        """Typical readings as a pandas frame: a row for healthy and each fault, a column for each place (SI units)."""
        import pandas as pd

        rows = {"healthy": {p: b.typical for p, b in self.healthy.items()}}
        rows |= {fault: {p: b.typical for p, b in row.items()} for fault, row in self.under.items()}
        return pd.DataFrame.from_dict(rows, orient="index")

    def __str__(self) -> str:
        places = list(self.healthy)
        rows = [["", *places], ["healthy", *(b.short for b in self.healthy.values())]]
        for fault, row in self.under.items():
            if fault not in self.silent:
                rows.append([fault, *(row[p].short if p in self.moved[fault] else "same" for p in places)])
        wide = [max(len(row[k]) for row in rows) for k in range(len(places) + 1)]
        lines = ["  ".join(f"{cell:<{w}}" for cell, w in zip(row, wide, strict=True)).rstrip() for row in rows]
        quiet = f"Moves nothing on {self.setting}: {', '.join(self.silent)}" if self.silent else "Every fault shows."
        return "\n".join([f"{self.title}, {self.setting} @{self.state}", *lines, quiet])


def fault_table(
    circuit: Circuit, *, setting: str = "volts", state: str | None = None, meter: Meter | str | None = None
) -> FaultTable:
    """What every node reads under every single fault, in one state and setting, with a meter on that node.

    Bands are in SI units. Raises UnknownNameError for a state or meter that is not there.
    """
    told = expect(circuit, state=state, setting=setting, meter=meter)
    places = [node for node in circuit.nodes if node != "0"]
    healthy = {place: told[place].healthy for place in places}
    under = {fault: {place: told[place].under(fault) for place in places} for fault in circuit.faults}
    moved = {
        fault: tuple(
            p
            for p in places
            if row[p].low > healthy[p].high or row[p].high < healthy[p].low or _apart(row[p], healthy[p])
        )
        for fault, row in under.items()
    }
    silent = tuple(fault for fault, places_moved in moved.items() if not places_moved)
    return FaultTable(circuit.title or circuit.name, told.state, setting, healthy, under, moved, silent)


def _apart(a: Band, b: Band) -> bool:
    """Whether the typical reading leaves the healthy band."""
    return not b.holds(a.typical) and a.typical == a.typical and b.typical == b.typical
