"""Lint, format and types: a run of all tests speaks for them too."""

import subprocess
import sys

import pytest

from tests.house.source import ROOT

COMMANDS = {
    "lint": ["ruff", "check", "."],
    "format": ["ruff", "format", "--check", "."],
    "types": ["mypy"],
}


@pytest.mark.parametrize("what", COMMANDS)
def test_form(what: str) -> None:
    told = subprocess.run(
        [sys.executable, "-m", *COMMANDS[what]], cwd=ROOT, capture_output=True, text=True, timeout=600
    )
    assert told.returncode == 0, told.stdout[-6000:] + told.stderr[-2000:]
