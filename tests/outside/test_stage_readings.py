"""Common stages, healthy and with single faults, against volts worked out apart from the shelf (ngspice 39).

stage_readings.yaml holds them: within 2 % or 20 mV. Where a stage there was made otherwise, stage_changes.yaml says
what was, and the shelf's circuit with that one change must read what was read there.
"""

import re
from collections.abc import Callable, Mapping
from functools import cache
from math import tanh
from pathlib import Path
from typing import Any

import pytest
import shouldread as sr
import yaml
from scipy.optimize import brentq
from shouldread.circuit import Circuit
from shouldread.meter import measure

HERE = Path(__file__).parent


def read(name: str) -> list[dict[str, Any]]:
    return yaml.load((HERE / name).read_text(encoding="utf-8"), Loader=yaml.CSafeLoader)  # type: ignore[no-any-return]


ROWS, CHANGES = read("stage_readings.yaml"), read("stage_changes.yaml")


@cache
def circuit(name: str) -> Circuit:
    return sr.load_circuit(name)


def what(row: dict[str, Any]) -> str:
    """Its fault, the part that is set, or healthy."""
    return str(row.get("fault") or next(iter(row.get("values", {})), "healthy"))


def change_of(row: dict[str, Any]) -> dict[str, Any] | None:
    """How the stage was made otherwise for that row; what names the row most narrowly."""
    fitting = [
        change
        for change in CHANGES
        if change["circuit"] == row["circuit"]
        and what(row) in (names if isinstance(names := change.get("what", what(row)), list) else [names])
        and row["state"] in change.get("states", [row["state"]])
    ]
    return max(fitting, key=lambda change: "what" in change, default=None)


def made_otherwise(name: str, lines: Mapping[str, str]) -> Circuit:
    """The states and the netlist of the shelf's circuit, some lines replaced, taken out or added."""
    facts, netlist = "", [line for line in circuit(name).text.splitlines()[1:] if not line.startswith("*")]
    if states := re.search(r"^\*: \[states\]\n(\*: \w+ = .*\n)+", circuit(name).text, re.M):
        facts = states.group()
    rest = [line for line in netlist if line != ".end" and not any(line.startswith(f"{head} ") for head in lines)]
    return sr.load_circuit(
        "\n".join(["* made otherwise", *facts.splitlines(), *rest, *filter(None, lines.values()), ".end"])
    )


def wrong(row: dict[str, Any], read: Callable[[str], float]) -> list[str]:
    """The nodes that read something else."""
    found = []
    for kind, part in (("volts", 0.02), ("same", 0.03)):
        for node, volts in row.get(kind, {}).items():
            if abs(read(node) - volts) > max(part * abs(volts), 0.02):
                found.append(f"{node}: {read(node):.4g} V here, {volts:.4g} V there")
    return found


def as_here(row: dict[str, Any]) -> Callable[[str], float]:
    board = circuit(row["circuit"])
    board = board.with_values(row["values"]) if row.get("values") else board
    return lambda node: measure(board, node, state=row["state"], fault=row.get("fault")).value


def as_there(row: dict[str, Any], change: dict[str, Any]) -> Callable[[str], float]:
    """What the circuit reads once it is made as there."""
    board = made_otherwise(row["circuit"], change["lines"]) if "lines" in change else circuit(row["circuit"])
    values = change.get("values", row.get("values"))
    board = board.with_values(values) if values else board
    fault = change.get("fault", row.get("fault"))
    fault = fault.get(row.get("fault"), row.get("fault")) if isinstance(fault, dict) else fault
    state = change.get("at", row["state"])

    def read(node: str) -> float:
        return measure(board, node, state=state, fault=fault or None).value

    law = LAWS.get(change.get("law", ""))
    if law is None:
        return read
    bare = sr.solve(board, state=state, fault=fault or None).volts  # no meter on it moves what the law goes by
    return lambda node: law(node, lambda name: bare[name])


def smooth_window(node: str, read: Callable[[str], float]) -> float:
    """VIN/4 (1 + tanh 300 (UV - 1.24)) (1 + tanh 300 (1.24 - OV)) behind 30 mΩ into 12 Ω."""
    if node != "VOUT":
        return read(node)
    inside = (1 + tanh(300 * (read("UV") - 1.24))) * (1 + tanh(300 * (1.24 - read("OV"))))
    return read("VIN") / 4 * inside * 12 / 12.03


def ideal_output(node: str, read: Callable[[str], float], gain: float = 0.8) -> float:
    """The output takes gain x the amps through R1 x tanh(volts / 0.1), fed by 3.3 V through 10 kΩ; 1 MΩ and a meter."""
    if node != "C":
        return read(node)
    taken = gain * (read("CMD") - read("A")) / 4700
    return float(brentq(lambda v: (3.3 - v) / 10e3 - v / 1e6 - v / 10e6 - taken * tanh(v / 0.1), 0, 3.3))


LAWS: dict[str, Callable[[str, Callable[[str], float]], float]] = {
    "smooth window": smooth_window,
    "ideal output": ideal_output,
    "worn output": lambda n, r: ideal_output(n, r, 0.05),
}


def called(row: dict[str, Any]) -> str:
    return f"{row['circuit']}: {row.get('fault', '')} {row.get('values', '')} @{row['state']}"


@pytest.mark.parametrize("row", [row for row in ROWS if change_of(row) is None], ids=called)
def test_the_stage_reads_what_it_read_elsewhere(row: dict[str, Any]) -> None:
    assert wrong(row, as_here(row)) == []


@pytest.mark.parametrize("row", [row for row in ROWS if change_of(row) is not None], ids=called)
def test_made_as_there_it_reads_what_it_read_there(row: dict[str, Any]) -> None:
    """The change that is named is the whole difference."""
    change = change_of(row)
    assert change is not None
    assert wrong(row, as_there(row, change)) == [], change["reason"]


def test_each_change_is_needed() -> None:
    """A change that explains nothing any more goes; 28 stages are looked at, most rows as they are."""
    idle = [
        change["reason"]
        for change in CHANGES
        if not any(wrong(row, as_here(row)) for row in ROWS if change_of(row) is change)
    ]
    assert idle == [], "explains nothing any more"
    assert len({row["circuit"] for row in ROWS}) == 28
    assert sum(change_of(row) is None for row in ROWS) > 0.75 * len(ROWS) > 200
