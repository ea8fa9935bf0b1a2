"""Published worked examples that move or swing: charging, discharging and alternating voltages.

Charging from nothing is asked of ``waveform``. A capacitor or coil that starts charged is a condition that the kit has
no state for: its published netlist goes to ngspice as it stands. Alternating voltages are ngspice's answer to what
``to_spice`` writes, faults included, so that what the kit hands on is what was published.
Sources as in test_published_op.py, each beside its netlist.
"""

import cmath
import math
import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shouldread as sr
from numpy.typing import NDArray
from shouldread.reference import waveform

from tests.outside.published import Board, boards, holds

CHARGED = re.compile(r"(?mi)\bIC=(?!0\b)\S+")
IN_TIME = list(boards("tran"))
LEFT_OUT = {
    ("soc-03737: RC open", "@q1[ib]"): "published falls; ngspice and Kirchhoff's laws let it rise (6.5 to 155 uA)",
}


def swinging() -> Iterator[tuple[Board, str]]:
    """Every expectation of an alternating voltage or current."""
    for board in boards("ac"):
        yield from ((board, key) for key in board.expectations)
    for board in boards("op"):
        yield from ((board, key) for key in board.expectations if key.startswith("ac:"))


SWINGING = list(swinging())


def raw(text: str, folder: Path) -> dict[str, NDArray[Any]]:
    """The vectors of a batch run, by lower-case name."""
    (folder / "deck.cir").write_text(text, encoding="utf-8")
    command = ["ngspice", "-n", "-b", "-r", "out.raw", "deck.cir"]
    told = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=60, check=False)
    head, _, data = (folder / "out.raw").read_bytes().partition(b"Binary:\n")
    assert data, told.stdout + told.stderr
    names = [row.split(b"\t")[2].decode() for row in head.split(b"\n") if row.startswith(b"\t")]
    kind = np.complex128 if b"Flags: complex" in head else np.float64
    return dict(zip(names, np.frombuffer(data, kind).reshape(-1, len(names)).T, strict=True))


def worked_out(expression: str, **names: object) -> float:
    """An expression of the collection; nodes and parts become text: ``v(2,3)`` is ``v("2","3")``."""
    named = re.sub(r"\b([vi])\(([\w.]+)\)", r'\1("\2")', expression)
    return float(eval(named, {"__builtins__": {}}, {"abs": abs, "pi": math.pi, **names}))


def in_time(board: Board, folder: Path) -> tuple[NDArray[Any], Callable[[str], NDArray[Any]]]:
    """Seconds, and the volts of a node at those."""
    if CHARGED.search(board.netlist):
        found = raw(board.netlist, folder)
        return found["time"], lambda node: found[f"v({node.lower()})"]
    circuit = sr.load_circuit(board.netlist)
    told = waveform(circuit, seconds=float(board.entry["analysis"]["args"].split()[1].replace("m", "e-3")))
    assert told.outcome.word == "solved", told.outcome.sentence
    return told.seconds, lambda node: np.asarray(told.volts[circuit.node(node)])


@pytest.mark.parametrize("board", IN_TIME, ids=lambda b: b.name)
def test_the_course_in_time_is_the_published_one(board: Board, tmp_path: Path) -> None:
    seconds, volts = in_time(board, tmp_path)

    def at(x: NDArray[Any], t: float) -> float:
        return float(np.interp(t, seconds, x))

    def when(x: NDArray[Any], value: float) -> float:
        k = int(np.flatnonzero((x[:-1] - value) * (x[1:] - value) <= 0)[0])
        return float(seconds[k] + (value - x[k]) / (x[k + 1] - x[k]) * (seconds[k + 1] - seconds[k]))

    for expression, expected in board.expectations.items():
        found = worked_out(expression, at=at, when=when, v=volts)
        assert holds(found, expected, found), f"{expression} = {found:.6g} ({board.source}): {dict(expected)}"


def alternating(board: Board, expression: str, folder: Path) -> float:
    """The expression at the board's frequency, by ngspice on the netlist that the kit writes."""
    circuit = sr.load_circuit(board.netlist)
    faults, values = board.edits()
    text = (circuit.with_values(values) if values else circuit).to_spice(fault=" + ".join(faults) or None)
    for line in re.findall(r"(?mi)^V\w+ .*\bAC .*$", board.netlist):
        name, size = line.split()[0], re.split(r"(?i)\bAC\b", line)[1]
        text = re.sub(rf"(?mi)^({name} .*)$", rf"\1 AC {size}", text)
    f = board.entry["analysis"].get("f") or board.entry["ac_f"]
    found = {k: complex(v[0]) for k, v in raw(text.replace("\n.op\n", f"\n.ac lin 1 {f} {f}\n"), folder).items()}

    def parts(which: str) -> Callable[[str], complex]:
        return lambda name: found[f"{which}({name.lower()})"]

    words = {"mag": abs, "ph": cmath.phase, "real": lambda x: x.real, "imag": lambda x: x.imag}
    return worked_out(expression.removeprefix("ac:"), v=parts("v"), i=parts("i"), **words)


@pytest.mark.parametrize("board, expression", SWINGING, ids=lambda x: x.name if isinstance(x, Board) else x)
def test_the_alternating_answer_is_the_published_one(board: Board, expression: str, tmp_path: Path) -> None:
    expected = board.expectations[expression]
    found = alternating(board, expression, tmp_path)
    good = alternating(Board(board.entry, None), expression, tmp_path)
    assert holds(found, expected, good), f"{expression} = {found:.6g} ({board.source}): {dict(expected)}"


def test_only_what_contradicts_kirchhoff_is_left_out() -> None:
    """A published answer that is marked as a conflict stands here by name, with the reason."""
    every = [(board, key, row) for kind in ("op", "tran", "ac") for board in boards(kind) for key, row in board.all]
    left = {(board.name, key) for board, key, row in every if row.get("conflict")}
    assert left == set(LEFT_OUT)
    assert len(IN_TIME) == 7 and len(SWINGING) > 30
