"""``python -m shouldread``: warm the engine, then open the lab at the start notebook, or check it without a screen."""

import argparse
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient

from shouldread.solve import warm_up

MARK = "# NBVAL_CHECK_OUTPUT"
START = "00_start_here.ipynb"


def notebooks() -> Path:
    """Where the notebooks lie: inside the package, else in the checkout."""
    inside = Path(__file__).parent / "notebooks"
    return inside if inside.is_dir() else Path(__file__).parents[2] / "notebooks"


def check() -> int:
    """Run the start notebook without a screen and print what its marked cells say."""
    notebook = nbformat.read(notebooks() / START, as_version=4)
    NotebookClient(notebook, timeout=300, kernel_name="python3", resources={"metadata": {"path": str(Path.cwd())}}).execute()
    said = []
    for cell in notebook.cells:
        if cell.cell_type == "code" and cell.source.startswith(MARK):
            for output in cell.outputs:
                said.append(output.get("text") or output.get("data", {}).get("text/plain", ""))
    print("\n".join(text.rstrip() for text in said))
    return 0 if any(said) else 1


def own_copy() -> Path:
    """The start notebook in notebooks/mine (or the working folder): the committed ones stay as they are."""
    source = notebooks()
    mine = (source / "mine") if os.access(source, os.W_OK) else Path.cwd() / "shouldread-notebooks"
    mine.mkdir(exist_ok=True)
    for path in sorted(source.glob("*.ipynb")):
        if not (mine / path.name).exists():
            shutil.copy(path, mine / path.name)
    return mine


def settings(folder: Path) -> Path:
    """Lab settings of our own: no news, no announcements; the user's are left alone."""
    place = folder / "settings"
    place.mkdir(parents=True, exist_ok=True)
    overrides = {
        "@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False},
        "@jupyterlab/notebook-extension:tracker": {"windowingMode": "full"},
    }
    (place / "overrides.json").write_text(json.dumps(overrides), encoding="utf-8")
    return place


def lab(port: int | None, browser: bool) -> int:
    """Open the lab on this computer only, with its token, without terminals."""
    mine = own_copy()
    command = [
        sys.executable, "-m", "jupyterlab", "--ip=127.0.0.1", f"--notebook-dir={mine}",
        "--ServerApp.terminals_enabled=False", f"--LabApp.app_settings_dir={settings(Path(sys.prefix) / 'share/shouldread')}",
        f"--LabApp.default_url=/lab/workspaces/shouldread/tree/{START}",
    ]  # fmt: skip
    command += [f"--port={port}"] if port else []
    command += [] if browser else ["--no-browser"]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--allow-root")
    return subprocess.call(command)


def main() -> int:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m shouldread", description=__doc__)
    parser.add_argument("--check", action="store_true", help="run the start notebook without a screen")
    parser.add_argument("--no-browser", action="store_true")
    parser.add_argument("--port", type=int)
    asked = parser.parse_args()
    warm_up(lambda words: print(words, flush=True))
    return check() if asked.check else lab(asked.port, not asked.no_browser)


if __name__ == "__main__":
    sys.exit(main())
