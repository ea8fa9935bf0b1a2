"""Unwritten model parameters have the values that ngspice itself gives them (ngspice 39 and later, showmod)."""

import math
import subprocess
from pathlib import Path

import pytest
from shouldread.parts import KINDS, Model, model_value

LINES = {
    "D": ("D", "D1 a 0 MX", "d1"),
    "Q": ("NPN", "Q1 a a 0 MX", "q1"),
    "M": ("NMOS", "M1 a a 0 0 MX", "m1"),
}
UNSET = {0.0, 1e99, 1e30}  # ngspice shows 0 (or a huge figure) for what is not there at all
ON_THE_LINE = ("W", "L")  # of a MOSFET: defaults of the instance, 100 um (ngspice manual, .options defl defw)


def told(folder: Path, lines: str, ask: str) -> list[str]:
    path = folder / "defaults.cir"
    path.write_text(f"* defaults\n{lines}\n.control\nop\n{ask}\n.endc\n.end\n")
    run = subprocess.run(["ngspice", "-n", "-b", str(path)], capture_output=True, text=True, timeout=60, check=False)
    return run.stdout.splitlines()


def shown(folder: Path, model_type: str, line: str, name: str) -> dict[str, float]:
    found = {}
    for row in told(folder, f"V1 a 0 0.5\n{line}\n.model MX {model_type}", f"showmod {name}"):
        words = row.split()
        if len(words) == 2:
            try:
                found[words[0].upper()] = float(words[1])
            except ValueError:
                continue
    return found


@pytest.mark.parametrize("letter", LINES)
def test_defaults_are_those_of_ngspice(letter: str, tmp_path: Path) -> None:
    found = shown(tmp_path, *LINES[letter])
    kind = KINDS[letter]
    wrong = []
    for what in kind.model_params:
        if letter == "M" and what in ON_THE_LINE:
            continue
        ours = model_value(kind, Model("MX", LINES[letter][0]), what)
        theirs = found.get(what)
        if theirs is None:
            wrong.append(f"{what}: ngspice does not show it")
        elif math.isinf(ours):
            wrong += [f"{what}: none here, {theirs} in ngspice"] if theirs not in UNSET else []
        elif theirs != pytest.approx(ours, rel=1e-6):
            wrong.append(f"{what}: {ours} here, {theirs} in ngspice")
    assert not wrong, "\n".join(wrong)


def test_a_switch_of_which_nothing_is_written(tmp_path: Path) -> None:
    """1 ohm on and 1e12 off with its threshold at 0 V: amps that ngspice draws through it at 1 V and at -1 V."""
    lines = "V1 a 0 1\nV2 b 0 -1\nS1 a 0 a 0 MX\nS2 b 0 b 0 MX\n.model MX SW\n.options gmin=1e-18"
    rows = told(tmp_path, lines, "print i(v1) i(v2)")
    amps = [-float(row.split()[-1]) for row in rows if row.startswith("i(v")]
    on, off = (KINDS["S"].model_params[name] for name in ("RON", "ROFF"))
    assert amps == [pytest.approx(1 / on, rel=1e-6), pytest.approx(-1 / off, rel=1e-3)]
    assert KINDS["S"].model_params["VT"] == KINDS["S"].model_params["VH"] == 0.0
