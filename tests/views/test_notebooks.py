"""What the stored outputs of the notebooks show to a reader without a kernel."""

from pathlib import Path

import nbformat
import pytest

from tests.house.source import ROOT

NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
MARK = "# NBVAL_CHECK_OUTPUT"


def read(path: Path) -> nbformat.NotebookNode:
    return nbformat.read(path, as_version=4)


def code_cells(path: Path) -> list[nbformat.NotebookNode]:
    return [cell for cell in read(path).cells if cell.cell_type == "code"]


def said(cell: nbformat.NotebookNode) -> str:
    """Everything a cell shows as plain text."""
    return "".join(str(out.get("text") or out.get("data", {}).get("text/plain", "")) for out in cell.outputs)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_no_output_names_a_place_on_this_computer(path: Path) -> None:
    """No address, no folder, no object's number: they would differ for everybody."""
    for cell in code_cells(path):
        text = said(cell)
        assert " at 0x" not in text and "/home/" not in text and "/root/" not in text and "/tmp/" not in text
    assert "widgets" not in read(path).metadata


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_bench_keeps_a_picture_and_a_table_beside_its_widget(path: Path) -> None:
    for cell in code_cells(path):
        kinds = [set(out.get("data", {})) for out in cell.outputs]
        for number, kind in enumerate(kinds):
            if "application/vnd.jupyter.widget-view+json" in kind:
                assert "text/html" in kinds[number - 1] and "image/png" in kinds[number - 2]
                assert cell.outputs[number]["data"]["text/plain"] == ""


def test_the_start_notebook_ends_at_the_coil_with_its_cautions() -> None:
    notebook = read(ROOT / "notebooks" / "00_start_here.ipynb")
    (marked,) = [cell for cell in notebook.cells if cell.cell_type == "code" and cell.source.startswith(MARK)]
    assert "1. L1 open (likely)" in said(marked)
    prose = " ".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    for words in ("discharged", "wrist strap", "current limit", "mains", "licensed practice"):
        assert words in prose
