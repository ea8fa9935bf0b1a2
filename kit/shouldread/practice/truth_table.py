"""Truth table of a stage: which feeds and which levels give which output, and why, transistor by transistor."""

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shouldread.circuit import Circuit, State, is_supply
from shouldread.explain import Region, regions
from shouldread.parts import Part
from shouldread.quantities import say
from shouldread.solve import Solution, solve

if TYPE_CHECKING:
    import pandas

# inputs and outputs of 3.3 V logic: low up to 0.8 V, high from 2.0 V (JEDEC JESD8C.01, LVTTL and LVCMOS; from memory)
LOW, HIGH = 0.8, 2.0
MOST_ROWS = 64


@dataclass(frozen=True, slots=True)
class Level:
    """What an output stands at: volts (nan where it floats), and the word: low, high, between, floating."""

    node: str
    volts: float
    word: str

    def __str__(self) -> str:
        return self.word if math.isnan(self.volts) else f"{self.word} ({say(round(self.volts, 4) + 0.0, 'V', 3)})"


@dataclass(frozen=True, slots=True)
class TruthRow:
    """One row: the state, what is fed and driven, the outputs, and every diode and transistor."""

    state: str
    fed: Mapping[str, str]
    outputs: tuple[Level, ...]
    regions: tuple[Region, ...]
    solution: Solution

    @property
    def why(self) -> str:
        """The road in words, transistor by transistor."""
        return "; ".join(map(str, self.regions))


@dataclass(frozen=True, slots=True)
class TruthTable:
    """All rows of a stage. Prints as a table; ``row(state)`` picks one."""

    circuit: Circuit
    rows: tuple[TruthRow, ...]

    def row(self, state: str | None = None) -> TruthRow:
        """The row of a state, by any spelling of its name. Raises UnknownNameError."""
        wanted = self.circuit.state(state).name
        return next(row for row in self.rows if row.state == wanted)

    @property
    def inputs(self) -> tuple[str, ...]:
        """What the rows differ in: feeds, drives, switches."""
        return tuple(self.rows[0].fed) if self.rows else ()

    def frame(self) -> "pandas.DataFrame":
        """A table: state, each feed, each output, each transistor."""
        import pandas

        return pandas.DataFrame(list(self._cells()), columns=list(self._heads()))

    def _heads(self) -> list[str]:
        row = self.rows[0]
        return ["state", *row.fed, *(o.node for o in row.outputs), *(r.part for r in row.regions)]

    def _cells(self) -> Iterator[list[str]]:
        for row in self.rows:
            yield [
                row.state.replace("_", " "),
                *row.fed.values(),
                *map(str, row.outputs),
                *(r.word for r in row.regions),
            ]

    def __str__(self) -> str:
        lines = [self._heads(), *self._cells()]
        wide = [max(len(line[k]) for line in lines) for k in range(len(lines[0]))]
        shown = ["  ".join(f"{cell:<{w}}" for cell, w in zip(line, wide, strict=True)).rstrip() for line in lines]
        return "\n".join([self.circuit.title or self.circuit.name, *shown])


def truth_table(circuit: Circuit, *, every: bool = False) -> TruthTable:
    """The truth table of a stage out of its states, solved row by row.

    ``every``: all combinations of what the states set, beside the states that the file names (64 rows at most).
    Levels are those of 3.3 V logic. Stages that latch are to be asked by their states: there the order counts.

    >>> from shouldread.circuit import load_circuit
    >>> table = truth_table(load_circuit("two_supply_and"), every=True)
    >>> [(row.fed["V12"], row.fed["V3"], row.outputs[0].word) for row in table.rows]
    [('12.0 V', '3.3 V', 'high'), ('0.0 V', '3.3 V', 'low'), ('12.0 V', '0.0 V', 'low'), ('0.0 V', '0.0 V', 'low')]
    """
    stage = _with_all(circuit) if every else circuit
    return TruthTable(stage, tuple(_row(stage, state) for state in stage.state_table.values()))


def outputs_of(circuit: Circuit) -> tuple[str, ...]:
    """The stage's outputs as its file hints at them; else its last node."""
    named = circuit.hints.get("outputs")
    found = [circuit.node(str(name)) for name in named] if isinstance(named, list) else []
    return tuple(found) or circuit.nodes[-1:]


def _row(circuit: Circuit, state: State) -> TruthRow:
    solution = solve(circuit, state=state.name)
    levels = tuple(_level(node, solution.volts.get(node, math.nan)) for node in outputs_of(circuit))
    fed = {part.name: _said(part, state.sets.get(part.name)) for part in _inputs(circuit)}
    return TruthRow(state.name, fed, levels, regions(circuit, solution), solution)


def _level(node: str, volts: float) -> Level:
    if math.isnan(volts):
        return Level(node, volts, "floating")
    return Level(node, volts, "low" if volts <= LOW else "high" if volts >= HIGH else "between")


def _inputs(circuit: Circuit) -> list[Part]:
    """What the states set; where they set nothing, the sources."""
    names = {circuit.part(name).name for state in circuit.state_table.values() for name in state.sets}
    return [p for p in circuit.netlist.values() if (p.name in names if names else is_supply(p))]


def _said(part: Part, value: float | bool | str | None) -> str:
    """How a feed or a drive stands in a state: ``12 V``, ``missing``, ``on``."""
    if value == "absent":
        return "missing"
    if isinstance(value, bool):
        return "on" if value else "off"
    if value is None and part.value is None:
        return "there"
    number = part.value.nominal if value is None and part.value is not None else value
    unit = {"V": "V", "I": "A", "R": "Ω"}.get(part.kind, "")
    return say(float(number), unit, 3) if isinstance(number, int | float) else str(number)


def _with_all(circuit: Circuit) -> Circuit:
    """The circuit with a state for each combination of what its states set, those of the file first."""
    table = dict(circuit.state_table)
    axes: dict[str, list[float | bool | str | None]] = {}
    for part in _inputs(circuit):
        found = [state.sets[part.name] for state in table.values() if part.name in state.sets]
        axes[part.name] = list(dict.fromkeys([None, *found]))
    known = [{name: state.sets.get(name) for name in axes} for state in table.values()]
    for combination in itertools.islice(itertools.product(*axes.values()), MOST_ROWS):
        here = dict(zip(axes, combination, strict=True))
        if here in known:
            continue
        sets = {name: value for name, value in here.items() if value is not None}
        name = " and ".join(f"{n} {_said(circuit.part(n), v)}" for n, v in sets.items())
        table[name] = State(name, sets, "off")
    return replace(circuit, state_table=table)
