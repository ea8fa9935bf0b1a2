"""Every circuit of the shelf, in every state, with every fault: the kit's volts against ngspice on what the kit writes.

ngspice runs ``to_spice()`` in batch mode by itself. Where it stops on the way, or its iterations throw a switch whose
control lies inside its hysteresis (what was held is then forgotten), every switch becomes the resistance that it was left
at, and must hold that place in ngspice's answer. Last, it is started from the kit's answer, then let go, and stays only
where its own equations hold. Left out: nodes that float (a solver's own gmin sets them). Where a
circuit has several answers, ngspice must stand at one that the kit names; where it stands on the brink between two, it is
let fall from power-up, with a little capacitance at each node. Where the kit says that there is no steady state, ngspice
must find none.
"""

import math
import re
import subprocess
from collections.abc import Iterator, Mapping
from itertools import chain
from pathlib import Path

import numpy as np
import pytest
import shouldread as sr

SORTS = {entry.name: entry.sort for entry in sr.shelf()}
SECONDS = 3  # for one operating point, which takes hundredths
GIVES_UP = 3  # runs of a fragment in which ngspice finds no operating point, or none in time


SWITCH = re.compile(r"^S(\S+) (\S+) (\S+) (\S+) (\S+) (\S+) (ON|OFF)$", re.MULTILINE)
SWITCH_MODEL = re.compile(r"^\.model (\S+) SW\(VT=(\S+) VH=(\S+) RON=(\S+) ROFF=(\S+)\)$", re.MULTILINE)


def batch(text: str, folder: Path, seconds: float) -> dict[str, float] | None:
    """The operating point by lower-case vector name, or None when ngspice finds none."""
    deck, raw = folder / "deck.cir", folder / "out.raw"
    deck.write_text(text, encoding="utf-8")
    raw.unlink(missing_ok=True)
    try:
        command = ["ngspice", "-n", "-b", "-r", raw, deck]
        told = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=seconds, check=False)
    except subprocess.TimeoutExpired:
        return None
    if not raw.exists() or "source stepping failed" in told.stdout + told.stderr:  # it writes where it stopped
        return None
    head, _, data = raw.read_bytes().partition(b"Binary:\n")
    names = [row.split(b"\t")[2].decode() for row in head.split(b"\n") if row.startswith(b"\t")]
    return dict(zip(names, map(float, np.frombuffer(data[-8 * len(names) :])), strict=True))


def as_left(text: str) -> str:
    """The netlist with every switch as the resistance that it was left at."""
    models = {name: values for name, *values in SWITCH_MODEL.findall(text)}

    def row(hit: re.Match[str]) -> str:
        name, a, b, _, _, model, place = hit.groups()
        return f"R_S{name} {a} {b} {models[model][2 if place == 'ON' else 3]}"

    return SWITCH.sub(row, text)


def holds(text: str, found: Mapping[str, float]) -> bool:
    """Whether every switch of the netlist may stay where it was left, at these volts."""
    models = {name: values for name, *values in SWITCH_MODEL.findall(text)}
    for _, _, _, above, below, model, place in SWITCH.findall(text):
        at, half = float(models[model][0]), abs(float(models[model][1]))
        control = sum(sign * found.get(f"v({n.lower()})", 0.0) for sign, n in ((1, above), (-1, below)))
        if (control < at - half - 1e-6) if place == "ON" else (control > at + half + 1e-6):
            return False
    return True


def asked_from_there(text: str, volts: Mapping[str, float]) -> Iterator[str]:
    """The netlist with the volts that ngspice's first iterations hold every node at; tight, then less so."""
    held = [f".nodeset v({spelled(n)})={v!r}" for n, v in volts.items() if n != "0" and not math.isnan(v)]
    text = text.replace("\n.op\n", "\n" + "\n".join(held) + "\n.op\n")
    yield text
    yield from less_tight(text)


def less_tight(text: str) -> Iterator[str]:
    """What nothing holds cannot be settled to a tenth of a nanovolt; ngspice then gives up everywhere."""
    for ends in ("reltol=1e-7 vntol=1e-8", "reltol=1e-6 vntol=1e-6"):
        yield text.replace("reltol=1e-9 vntol=1e-10", ends)


def fallen(text: str, folder: Path) -> Iterator[str]:
    """The netlist with every node, those inside blocks too, held where power-up leaves it."""
    brink = batch(text, folder, SECONDS) or {}
    nodes = [name[2:-1] for name in brink if name.startswith("v(")]
    rows = [f"Cfall{number} {node} 0 1n" for number, node in enumerate(nodes)]
    rising = text.replace("reltol=1e-9 vntol=1e-10", "reltol=1e-4 vntol=1e-6")
    found = batch(rising.replace("\n.op\n", "\n".join(["", *rows, ".tran 1u 20m uic", ""])), folder, SECONDS) or {}
    held = [f".nodeset v({node})={found[f'v({node})']!r}" for node in nodes if f"v({node})" in found]
    yield text.replace("\n.op\n", "\n".join(["", *held, ".op", ""]))


def spelled(node: str) -> str:
    return re.sub(r"\W", "_", node, flags=re.ASCII).lower()


def apart(volts: dict[str, float], found: dict[str, float]) -> float:
    """The worst node in units of 1e-6 relative + 1 uV."""
    worst = 0.0
    for node, value in volts.items():
        if node == "0" or math.isnan(value):
            continue
        there = found[f"v({spelled(node)})"]
        worst = max(worst, abs(value - there) / (1e-6 * abs(there) + 1e-6))
    return worst


def nearest(text: str, answers: list[dict[str, float]], folder: Path, seconds: float) -> float | None:
    """How far ngspice ends from the nearest of the kit's answers, or None when it ends nowhere."""
    least = None
    more = fallen(text, folder) if len(answers) > 1 else ()
    left = as_left(text)
    for asked in chain((text, left, *less_tight(left)), asked_from_there(left, answers[0]), more):
        found = batch(asked, folder, seconds)
        if found is None or not any(name.startswith("v(") for name in found):
            continue
        if asked is not text and not holds(text, found):
            continue
        gap = min(apart(answer, found) for answer in answers)
        least = gap if least is None else min(gap, least)
        if least <= 1:
            break
    return least


@pytest.mark.parametrize("name", [pytest.param(n, marks=[pytest.mark.long] * (SORTS[n] == "board")) for n in SORTS])
def test_both_engines_agree_under_every_fault(name: str, tmp_path: Path) -> None:
    circuit = sr.load_circuit(name)
    gave_up, wrong = [], []
    for state in circuit.states:
        for fault in (None, *circuit.faults):
            solution = sr.solve(circuit, state=state, fault=fault)
            if solution.outcome.word == "failed":
                wrong.append(f"{fault} @{state}: {solution.outcome.sentence}")
                continue
            text = circuit.to_spice(state=state, fault=fault, bits=solution.bits)
            if solution.outcome.word == "no steady state":
                if batch(text, tmp_path, SECONDS) is not None:
                    wrong.append(f"{fault} @{state}: ngspice comes to rest")
                continue
            answers = [dict(answer) for answer in (solution.volts, *solution.outcome.others)]
            least = nearest(text, answers, tmp_path, SECONDS)
            if least is None:
                gave_up.append(f"{fault} @{state}")
            elif least > 1:
                wrong.append(f"{fault} @{state}: {least:.3g} times the tolerance ({solution.outcome.word})")
    assert not wrong
    runs = len(circuit.states) * (1 + len(circuit.faults))
    assert len(gave_up) <= (0.02 * runs if SORTS[name] == "board" else GIVES_UP), gave_up
