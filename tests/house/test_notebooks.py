"""Notebooks are committed with what they say, so that a colleague without a kernel can read them."""

import ast
import json
from pathlib import Path
from typing import Any

import pytest

from tests.house.source import ROOT

MARK = "# NBVAL_CHECK_OUTPUT"
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
LONGEST_CELL = 10
EXPECTED = [
    *("00_start_here", "01_what_should_it_read", "02_find_the_fault", "03_enable_logic"),
    *("04_practice", "05_write_up", "06_your_own_board"),
]


def code_cells(path: Path) -> list[dict[str, Any]]:
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return [{**cell, "source": "".join(cell["source"])} for cell in cells if cell["cell_type"] == "code"]


def test_the_road_through_the_kit_is_complete() -> None:
    assert [path.stem for path in NOTEBOOKS] == EXPECTED


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_marked_cells_hold_what_they_said(path: Path) -> None:
    """A notebook with cleared outputs would make the comparison of outputs worth nothing."""
    marked = [cell for cell in code_cells(path) if cell["source"].startswith(MARK)]
    assert marked, f"{path.name} has no cell that begins with {MARK}"
    for cell in marked:
        assert cell["execution_count"], cell["source"]
        said = [out.get("text") or out.get("data", {}).get("text/plain") for out in cell["outputs"]]
        assert any("".join(text or "").strip() for text in said), cell["source"]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_all_cells_were_run_in_order_without_error(path: Path) -> None:
    cells = [cell for cell in code_cells(path) if cell["source"].strip()]
    assert [cell["execution_count"] for cell in cells] == list(range(1, len(cells) + 1))
    kinds = {(out["output_type"], out.get("name")) for cell in cells for out in cell["outputs"]}
    assert not {kind for kind in kinds if kind[0] == "error" or kind[1] == "stderr"}


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_cells_are_short_and_define_nothing(path: Path) -> None:
    """A notebook uses the kit; what would need a class or a function belongs into the kit."""
    for cell in code_cells(path):
        assert cell["source"].count("\n") < LONGEST_CELL, cell["source"]
        code = "\n".join(line for line in cell["source"].splitlines() if not line.startswith("%"))
        assert not [n for n in ast.walk(ast.parse(code)) if isinstance(n, ast.ClassDef | ast.FunctionDef | ast.Lambda)]
