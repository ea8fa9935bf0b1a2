"""How long it takes: the first verdict, and each further reading, beside plain dense solves of the same size."""

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import shouldread as sr
from shouldread.diagnosis import Diagnosis


@dataclass(frozen=True, slots=True)
class Course:
    """A circuit and what is read on it, in turn."""

    circuit: str
    readings: tuple[str, ...]
    wanted: tuple[float, float]  # s: first verdict, each further reading


SHOWN = 5  # stages that take longest
COURSES = (
    Course(
        "controller_card", ("5V 0.05", "EN5 0.02", "12V_AUX 12.0", "B_S 12.0", "QB1 0.61", "RELAY 11.9"), (2.0, 0.1)
    ),
    Course("two_feed_enable", ("EN 0.02", "FEED 0.03", "EN 0.021"), (0.2, 0.02)),
)


@dataclass(frozen=True, slots=True)
class _Stage:
    """How long a stage took: seconds of its first verdict, and of the worst further one."""

    name: str
    nodes: int
    faults: int
    states: int
    first: float
    further: float


def speed_rows() -> Iterator[str]:
    """The table as lines."""
    yield from (
        "# How long diagnosis takes",
        "",
        "Made by `python -m tests.benchmarks.diagnosis --only speed`. Beside each time, in how many times it exceeds"
        " one dense linear solve (LAPACK, all node columns) of every fault in every state on the same computer just"
        " then. A verdict is shares and groups. The first verdict is made of nothing kept from before; the next probe is"
        " timed by itself. On an open bench the circuit was thought about before anything was read, for as long as"
        " thinking ahead takes.",
        "",
        "| circuit | nodes, faults, states | dense solves | first verdict | its next probe"
        " | further reading, verdict: median / worst | with its next probe: median / worst"
        " | thinking ahead takes | first verdict on an open bench | its next probe | further reading there: median / worst"
        " | wanted: first, further |",
        "|--|--|--|--|--|--|--|--|--|--|--|--|",
    )
    yield from (_row(course) for course in COURSES)
    yield from _stage_rows([entry.name for entry in sr.shelf() if entry.sort == "fragment"])


def _stage_rows(names: Sequence[str]) -> Iterator[str]:
    """Every stage, dead at its output: those that take longest, and how many take longer than is wanted."""
    yield from (
        "",
        "## Every stage on the shelf",
        "",
        "The output of each is dead; then five more nodes are read as the leading suspect has them. The better of two.",
        "",
        "| stage | nodes, faults, states | first verdict | further reading: worst | wanted: first, further |",
        "|--|--|--|--|--|",
    )
    stages = sorted((min(_stage(name), _stage(name), key=lambda s: s.first) for name in names), key=lambda s: -s.first)
    first, further = COURSES[-1].wanted
    for stage in stages[:SHOWN]:
        size = f"{stage.nodes}, {stage.faults}, {stage.states}"
        peer = dense(stage.nodes, stage.faults * stage.states)
        times = f"{_times(stage.first, peer)} | {_times(stage.further, peer)}"
        yield f"| {stage.name} | {size} | {times} | {first:g} s, {further * 1e3:g} ms |"
    middle = float(np.median([stage.first for stage in stages]))
    late = sum(stage.first > first or stage.further > further for stage in stages)
    yield from ("", f"All {len(stages)}: {middle * 1e3:.0f} ms at the median, {late} above what is wanted.")


def _stage(name: str) -> "_Stage":
    circuit = sr.load_circuit(name)
    nodes = [node for node in circuit.nodes if node != "0"]
    output = "OUT" if "OUT" in nodes else nodes[-1]
    first, d = _verdict(lambda: sr.diagnose(circuit, f"{output} 0.02"))
    others = [node for node in nodes if node != output]
    leading = d.suspects[0].fault
    volts = sr.solve(circuit.with_fault(leading) if leading != "healthy" else circuit).volts
    if not any(math.isfinite(volts[node]) for node in others):  # nothing steady
        volts = sr.solve(circuit).volts
    more = [f"{node} {volts[node]:.3f}" for node in others if math.isfinite(volts[node])]
    verdicts, _ = _further(d, more[:5], probes=False)
    return _Stage(name, len(circuit.nodes), len(d.suspects), len(circuit.state_table), first, max(verdicts))


def _row(course: Course) -> str:
    _probe(sr.diagnose(sr.load_circuit(course.circuit), course.readings[0]))  # loads all compiled kernels
    circuit = sr.load_circuit(course.circuit)
    nodes, states = len(circuit.nodes), len(circuit.state_table)
    first, d = _verdict(lambda: sr.diagnose(circuit, course.readings[0]))
    faults = len(d.suspects)
    peer = dense(nodes, faults * states)
    first_probe = _probe(d)
    verdicts, both = _further(d, course.readings[1:])
    waiting = sr.diagnose(sr.load_circuit(course.circuit), "")
    _probe(waiting)
    begun = time.perf_counter()
    for _ in waiting.think_ahead():
        pass
    thought = time.perf_counter() - begun
    opened, d = _verdict(lambda: waiting.also(course.readings[0]))
    opened_probe = _probe(d)
    there, _ = _further(d, course.readings[1:])
    say = f"| {course.circuit} | {nodes}, {faults}, {states} | {peer * 1e3:.0f} ms | {_times(first, peer)}"
    say += f" | {_times(first_probe, peer)} | {_middle(verdicts, peer)} | {_middle(both, peer)}"
    say += (
        f" | {_times(thought, peer)} | {_times(opened, peer)} | {_times(opened_probe, peer)} | {_middle(there, peer)}"
    )
    return f"{say} | {course.wanted[0]:g} s, {course.wanted[1] * 1e3:g} ms |"


def _further(d: Diagnosis, readings: Sequence[str], *, probes: bool = True) -> tuple[list[float], list[float]]:
    """Seconds of the verdict of each further reading, and with its next probe where ``probes`` are thought of."""
    verdicts, both = [], []
    for text in readings:
        seconds, d = _verdict(partial(d.also, text))
        verdicts.append(seconds)
        both.append(seconds + (_probe(d) if probes else 0.0))
    return verdicts, both


def _middle(rows: list[float], peer: float) -> str:
    return f"{_times(float(np.median(rows)), peer)} / {_times(max(rows), peer)}"


def _times(seconds: float, peer: float) -> str:
    return f"{seconds * 1e3:.0f} ms (x {seconds / peer:.1f})"


def _verdict(make: Callable[[], Diagnosis]) -> tuple[float, Diagnosis]:
    begun = time.perf_counter()
    d = make()
    assert d.groups
    return time.perf_counter() - begun, d


def _probe(d: Diagnosis) -> float:
    begun = time.perf_counter()
    d.next_probes  # noqa: B018
    return time.perf_counter() - begun


def dense(nodes: int, count: int) -> float:
    """Seconds of ``count`` dense linear solves with all columns of a grid of ``nodes`` nodes."""
    draw = np.random.default_rng(1)
    matrix = draw.normal(size=(nodes, nodes)) + nodes * np.eye(nodes)
    columns = np.eye(nodes)
    begun = time.perf_counter()
    for _ in range(count):
        np.linalg.solve(matrix, columns)
    return time.perf_counter() - begun
