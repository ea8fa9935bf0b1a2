"""Real boards: drawn parts, a drawn fault, solved by ngspice with the meter at each place, shown as a display shows."""

import re
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shouldread import load_circuit
from shouldread.circuit import Circuit
from shouldread.faults import Fault

from tests.benchmarks.diagnosis.stages import Stage, known
from tests.benchmarks.diagnosis.worlds import OTHER, World

METER_OHMS = 10e6
TOGETHER = 40  # boards in one run of ngspice


@dataclass(frozen=True, slots=True)
class RealBoard:
    """One board: what is wrong with it (names of single faults, none when healthy), what each place shows in volts,
    and the values its parts really have (ohms, by name)."""

    faults: tuple[str, ...]
    shown: dict[str, float]
    values: dict[str, float]

    def text(self, places: Sequence[str]) -> str:
        """Readings as typed."""
        return "; ".join(f"{place} {self.shown[place]:.3f}" for place in places)


def drawn_faults(stage: Stage, world: World, draw: np.random.Generator, many: int = 1) -> tuple[Fault, ...]:
    """Single faults, drawn by the weights that a world gives them."""
    faults = known(stage).single_faults
    weights = world.weights(np.array([f.prior for f in faults]), draw)
    chosen = draw.choice(len(faults), size=many, replace=False, p=weights / weights.sum())
    return tuple(faults[k] for k in chosen)


def with_severity(fault: Fault, world: World, draw: np.random.Generator) -> Fault:
    """How bad it is, where it has degrees."""
    ends = fault.severity_range
    if fault.severity is not None or ends is None:
        return fault
    low, high = np.log10([ends.low, ends.high])
    return fault.with_severity(float(10 ** (low + (high - low) * world.degree(draw))))


def real_deck(
    stage: Stage, world: World, faults: Sequence[Fault], draw: np.random.Generator
) -> tuple[Circuit, dict[str, float]]:
    """The real board with its faults in, and its part values."""
    circuit, values = load_circuit(world.netlist(stage, draw)), {}
    for name, part in circuit.netlist.items():
        if part.kind == "R" and part.value is not None:
            values[name] = part.value.nominal * world.tolerance(draw)
        elif part.kind == "V" and part.value is not None:
            values[name] = part.value.nominal * world.supply(draw)
    circuit = circuit.with_values({name: repr(value) for name, value in values.items()})
    for fault in faults:
        circuit = circuit.with_fault(str(with_severity(fault, world, draw)))
    return circuit, values


def boards(
    stage: Stage,
    count: int,
    draw: np.random.Generator,
    *,
    world: World = OTHER,
    many: int = 1,
    healthy: float = 0.0,
    wide: str = "",
) -> list[RealBoard]:
    """``count`` boards with ``many`` faults each; a share of them ``healthy``; ``wide`` names a part of any value."""
    made: list[tuple[tuple[str, ...], Circuit, dict[str, float]]] = []
    for _ in range(count):
        faults: tuple[Fault, ...] = () if draw.random() < healthy else drawn_faults(stage, world, draw, many)
        circuit, values = real_deck(stage, world, faults, draw)
        if wide:
            values[wide] = float(10 ** draw.uniform(3, 5))
            circuit = circuit.with_values({wide: repr(values[wide])})
        made.append((tuple(map(str, faults)), circuit, values))
    true: list[dict[str, float]] = []
    for start in range(0, count, TOGETHER):
        true += solved([circuit for _, circuit, _ in made[start : start + TOGETHER]], stage.places)
    found = []
    for (names, _, values), volts in zip(made, true, strict=True):
        off = world.shown(stage, np.array([volts[p] for p in stage.places]), draw)
        shown = {p: round(float(v), 3 if abs(v) < 6 else 2) for p, v in zip(stage.places, off, strict=True)}
        found.append(RealBoard(names, shown, values))
    return found


def solved(circuits: Sequence[Circuit], places: Sequence[str]) -> list[dict[str, float]]:
    """What ngspice says each place of each circuit reads with a meter there (volts), all in one run."""
    rows = ["* boards side by side", ".options reltol=1e-6 abstol=1e-13 gmin=1e-13 itl1=1000"]
    for number, circuit in enumerate(circuits):
        for place in places:
            deck = circuit.to_spice(meter_at=place, meter_ohms=METER_OHMS).split("\n")
            body = [line for line in deck[1:] if line and not line.startswith((".op", ".end", ".options"))]
            name = f"b{number}_{place}".lower()
            rows += [f".subckt {name} {place}", *body, ".ends", f"X{name} {name}_out {name}"]
    text = "\n".join([*rows, ".op", ".end", ""])
    done = subprocess.run(["ngspice", "-b"], input=text, capture_output=True, text=True, timeout=300)
    table = dict(re.findall(r"^\s*(b\d+_\S+)_out\s+(\S+)\s*$", done.stdout, re.MULTILINE))
    if len(table) < len(circuits) * len(places):
        raise RuntimeError(f"ngspice did not settle: {done.stdout[-500:]}{done.stderr[-500:]}")
    return [{p: float(table[f"b{k}_{p}".lower()]) for p in places} for k in range(len(circuits))]
