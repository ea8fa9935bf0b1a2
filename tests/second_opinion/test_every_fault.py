"""Every circuit of the shelf, in every state, with every fault: the kit's volts against ngspice on what the kit writes.

ngspice runs ``to_spice()`` in batch mode. Left out by name: nodes that float (a solver's own gmin sets them), and
circuits with several answers, where ngspice must stand at one of those that the kit names.
"""

import math
import re
import subprocess
from pathlib import Path

import numpy as np
import pytest
import shouldread as sr

LEFT_OUT = {
    "crowbar": "a thyristor latches: ngspice stands at another of its answers",
    "current_loop_input": "an open diode leaves a node that only breakdown holds, where ngspice stands elsewhere",
    "led_string_sink": "ngspice finds no operating point for most opens of a string of junctions",
    "reverse_polarity_pfet": "an open gate resistor leaves the gate to leakage, where ngspice stands elsewhere",
}
NAMES = [entry.name for entry in sr.shelf() if entry.sort == "fragment" and entry.name not in LEFT_OUT]
GIVES_UP = 3  # of a shelf of some 1500: ngspice finds no operating point, or none in time


def batch(text: str, folder: Path) -> dict[str, float] | None:
    """The operating point by lower-case vector name, or None when ngspice finds none."""
    deck, raw = folder / "deck.cir", folder / "out.raw"
    deck.write_text(text, encoding="utf-8")
    raw.unlink(missing_ok=True)
    try:
        subprocess.run(
            ["ngspice", "-n", "-b", "-r", raw, deck], cwd=folder, capture_output=True, timeout=10, check=False
        )
    except subprocess.TimeoutExpired:
        return None
    if not raw.exists():
        return None
    head, _, data = raw.read_bytes().partition(b"Binary:\n")
    names = [row.split(b"\t")[2].decode() for row in head.split(b"\n") if row.startswith(b"\t")]
    return dict(zip(names, map(float, np.frombuffer(data[: 8 * len(names)])), strict=True))


def apart(volts: dict[str, float], found: dict[str, float]) -> float:
    """The worst node in units of 1e-6 relative + 1 uV."""
    worst = 0.0
    for node, value in volts.items():
        if node == "0" or math.isnan(value):
            continue
        plain = re.sub(r"\W", "_", node, flags=re.ASCII).lower()
        there = found[f"v({plain})"]
        worst = max(worst, abs(value - there) / (1e-6 * abs(there) + 1e-6))
    return worst


@pytest.mark.parametrize("name", NAMES)
def test_both_engines_agree_under_every_fault(name: str, tmp_path: Path) -> None:
    circuit = sr.load_circuit(name)
    gave_up, wrong = [], []
    for state in circuit.states:
        for fault in (None, *circuit.faults):
            solution = sr.solve(circuit, state=state, fault=fault)
            if solution.outcome.word in ("failed", "no steady state"):
                wrong.append(f"{fault} @{state}: {solution.outcome.sentence}")
                continue
            found = batch(circuit.to_spice(state=state, fault=fault), tmp_path)
            if found is None or not any(name.startswith("v(") for name in found):
                gave_up.append(f"{fault} @{state}")
                continue
            answers = (solution.volts, *solution.outcome.others)
            least = min(apart(dict(answer), found) for answer in answers)
            if least > 1 and not (solution.outcome.word == "several" and name == "soft_latch"):
                wrong.append(f"{fault} @{state}: {least:.3g} times the tolerance ({solution.outcome.word})")
    assert not wrong
    assert len(gave_up) <= GIVES_UP, gave_up
