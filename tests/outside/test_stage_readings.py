"""Common stages, healthy and with single faults, against volts worked out apart from the shelf (ngspice 39).

stage_readings.yaml holds them: within 2 % or 20 mV, or the difference is explained here, by name.
"""

from functools import cache
from pathlib import Path
from typing import Any

import pytest
import shouldread as sr
import yaml
from shouldread.circuit import Circuit
from shouldread.meter import measure

SHORT = "a short is 50 mΩ there, 10 mΩ here"
LIMITED = "fed without a limit there, by a supply with a current limit here"
SENSE = "a current-sense chip with inputs of its own there, an amplifier with four resistors here"
THYRISTOR = "a contact of 0.45 Ω there, two transistors that latch on their gate here"
DROPOUT = "a regulator out of its range loses 0.2 V there; here what its transistor's resistance drops"
SAG = "sags to 3.2 V there, to 2.9 V here"
CONVERTER = "no dropout in the averaged converter"
DIFFERS = {  # (circuit, what) or (circuit,): why the volts are not the same
    ("current_sense",): SENSE,
    ("crowbar",): THYRISTOR,
    ("input_filter", "C1 short"): SHORT,
    ("input_filter", "C2 short"): SHORT,
    ("bead_local_rail", "C1 short"): SHORT,
    ("tvs_fuse_input", "D1 short"): SHORT,
    ("tvs_fuse_input", "C1 short"): SHORT,
    ("relay_driver", "Q1 collector-emitter short"): "a short is 1 Ω there, 10 mΩ here",
    ("input_filter", "L1"): "the coil is a resistor there; its winding is a fact beside the inductance here",
    ("pmos_high_side_switch", "RL"): LIMITED,
    ("two_supply_and", "Q2 leaky 3.3k"): "leaks from collector to base there; from collector to emitter here",
    ("power_good_wired_and", "R1"): "three outputs leak 100 MΩ each there; a supervisor's leaks less",
    ("reverse_polarity_pfet", "R1 open"): "20 MΩ beside the zener there hold the gate",
    ("reverse_polarity_pfet", "M1 drain open"): "a body diode of its own there; inside the open package here",
    ("level_shifter", "M1 drain open"): "a body diode of its own there; inside the open package here",
    ("level_shifter", "R2 open"): "the body diode feeds the meter alone: another diode, another drop",
    ("efuse_window", "R1"): "a smooth threshold there, a switch with hysteresis here",
    ("ldo_adjustable", "vin sag"): SAG,
    ("ldo_adjustable", "R1 open"): DROPOUT,
    ("ldo_adjustable", "R2 short"): DROPOUT,
    ("buck_feedback", "R1 open"): CONVERTER,
    ("opto_enable", "healthy"): "an ideal output there, a transistor that saturates at 46 mV here",
    ("opto_enable", "X1 diode short"): "a shorted diode still lights there; it gives no light",
    ("opto_enable", "X1 diode open or worn x0.0625"): "worn to 5 % there; here gain falls with small currents too",
    ("zener_follower", "RL"): "another transistor: its gain falls sooner there",
}
ROWS: list[dict[str, Any]] = yaml.load(
    (Path(__file__).parent / "stage_readings.yaml").read_text(encoding="utf-8"), Loader=yaml.CSafeLoader
)


@cache
def circuit(name: str) -> Circuit:
    return sr.load_circuit(name)


def keys_of(row: dict[str, Any]) -> list[tuple[str, ...]]:
    """By what a row may be named in DIFFERS: its circuit, its fault, the parts set, its state."""
    name = row["circuit"]
    own = [row.get("fault") or ("" if row.get("values") else "healthy"), *row.get("values", {}), row["state"]]
    return [(name,), *((name, what) for what in own)]


def wrong(row: dict[str, Any]) -> list[str]:
    """The nodes that read something else."""
    board = circuit(row["circuit"])
    if row.get("values"):
        board = board.with_values(row["values"])
    found = []
    for kind, part in (("volts", 0.02), ("same", 0.03)):
        for node, volts in row.get(kind, {}).items():
            shown = measure(board, node, state=row["state"], fault=row.get("fault")).value
            if abs(shown - volts) > max(part * abs(volts), 0.02):
                found.append(f"{node}: {shown:.4g} V here, {volts:.4g} V there")
    return found


def called(row: dict[str, Any]) -> str:
    return f"{row['circuit']}: {row.get('fault', '')} {row.get('values', '')} @{row['state']}"


@pytest.mark.parametrize("row", [r for r in ROWS if not set(keys_of(r)) & set(DIFFERS)], ids=called)
def test_the_stage_reads_what_it_read_elsewhere(row: dict[str, Any]) -> None:
    assert wrong(row) == []


def test_each_difference_named_is_one() -> None:
    """A reason that explains nothing any more goes; 28 stages are looked at, most rows without an excuse."""
    marked = {key: [row for row in ROWS if key in keys_of(row)] for key in DIFFERS}
    idle = [key for key, rows in marked.items() if not any(wrong(row) for row in rows)]
    assert idle == [], "explains nothing any more"
    assert len({row["circuit"] for row in ROWS}) == 28
    free = [row for row in ROWS if not set(keys_of(row)) & set(DIFFERS)]
    assert len(free) > 0.75 * len(ROWS) > 200
