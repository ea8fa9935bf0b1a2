"""Microseconds a solve and kilobytes, as the board grows: the kit, ngspice's ``op`` alone, dense algebra alone."""

import subprocess
import tempfile
import time
import tracemalloc
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shouldread as sr
from shouldread.circuit import Circuit
from shouldread.faults import Fault, fault_edits
from shouldread.solve import Network, patched

from tests.benchmarks.engine.boards import ladder

STEPS = 5  # of Newton's method that dense algebra is charged with
ROUNDS = 3  # of each figure; the middle one counts


@dataclass(frozen=True, slots=True)
class Row:
    """One size of board: unknown nodes, single faults, seconds for all faults, microseconds a solve by each method."""

    nodes: int
    faults: int
    all_faults: float
    first: float
    kit: float
    ngspice: float
    dense: float
    kilobytes: float


def measured(nodes: int, samples: int) -> Row:
    """Everything at one size, by turns, so that whatever else the computer does meets all of them."""
    circuit = sr.load_circuit(ladder(nodes))
    network = Network(circuit)
    faults = circuit.single_faults
    kit, ngspice, dense, whole, alone = [], [], [], [], []
    for _ in range(ROUNDS):
        kit.append(_kit(network, circuit, faults[:: max(1, len(faults) // 12)], samples))
        ngspice.append(_op(circuit))
        dense.append(_dense(len(circuit.nodes) - 1, samples))
        whole.append(_every_fault(network, circuit, faults))
        alone.append(_alone(circuit))
    middle = [float(np.median(figures)) for figures in (whole, alone, kit, ngspice, dense)]
    return Row(len(circuit.nodes) - 1, len(faults), *middle, _memory(network, samples) / 1024)


def exponent(small: Row, large: Row) -> float:
    """How the time for all faults grows with nodes x faults; 1 is in proportion."""
    work = (large.nodes * large.faults) / (small.nodes * small.faults)
    return float(np.log(large.all_faults / small.all_faults) / np.log(work))


def _samples(network: Network, count: int) -> np.ndarray:
    draw = np.random.default_rng(count)
    return network.nominal * draw.normal(1, 0.01, (count, len(network.nominal)))


def _kit(network: Network, circuit: Circuit, faults: tuple[Fault, ...], samples: int) -> float:
    """us a solve over tolerance samples under some faults."""
    spent, solves = 0.0, 0
    for fault in faults:
        quick = patched(network, fault_edits(fault, circuit.netlist.values()))
        if quick is not None:
            values = _samples(quick, samples)
            begun = time.perf_counter()
            quick.solve(values)
            spent += time.perf_counter() - begun
            solves += samples
    return spent / solves * 1e6


def _every_fault(network: Network, circuit: Circuit, faults: tuple[Fault, ...]) -> float:
    """Seconds for one solve under every single fault, laying the fault included."""
    begun = time.perf_counter()
    for fault in faults:
        edits = fault_edits(fault, circuit.netlist.values())
        (patched(network, edits) or Network(circuit, edits)).solve()
    return time.perf_counter() - begun


def _alone(circuit: Circuit) -> float:
    """us of one solve from power-up with its outcome."""
    begun = time.perf_counter()
    sr.solve(circuit)
    return (time.perf_counter() - begun) * 1e6


def _op(circuit: Circuit, many: int = 200) -> float:
    """us of ngspice's ``op``, one process: what more of them take longer."""
    return (_batch(circuit, 2 * many) - _batch(circuit, many)) / many * 1e6


def _batch(circuit: Circuit, times: int) -> float:
    text = circuit.to_spice().replace("\n.op\n", "\n")
    loop = f".control\nrepeat {times}\nop\ndestroy all\nend\nquit\n.endc\n.end\n"
    with tempfile.TemporaryDirectory() as folder:
        deck = Path(folder, "deck.cir")
        deck.write_text(text.removesuffix(".end\n") + loop, encoding="utf-8")
        begun = time.perf_counter()
        subprocess.run(["ngspice", "-n", "-b", str(deck)], capture_output=True, check=False, cwd=folder)
        return time.perf_counter() - begun


def _dense(nodes: int, samples: int) -> float:
    """us a lane of solving dense systems as often as Newton's method takes steps; devices would come on top."""
    draw = np.random.default_rng(nodes)
    a = draw.normal(size=(samples, nodes, nodes)) + nodes * np.eye(nodes)
    b = draw.normal(size=(samples, nodes, 1))
    begun = time.perf_counter()
    for _ in range(STEPS):
        np.linalg.solve(a, b)
    return (time.perf_counter() - begun) / samples * 1e6


def _memory(network: Network, samples: int) -> float:
    """Most bytes taken at once while samples are solved."""
    values = _samples(network, samples)
    tracemalloc.start()
    network.solve(values)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return float(most)
