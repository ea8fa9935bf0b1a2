"""``python -m shouldread``: warm the engine, then open the lab at the start notebook, or check it without a screen."""

import argparse
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError

from shouldread.solve import warm_up

PACKAGE = Path(__file__).resolve().parent
CHECKOUT = PACKAGE.parents[1]
MARK = "# NBVAL_CHECK_OUTPUT"
START = "00_start_here.ipynb"


def notebooks() -> Path:
    """Where the notebooks of the kit lie: inside the package, else in the checkout."""
    inside = PACKAGE / "notebooks"
    return inside if inside.is_dir() else CHECKOUT / "notebooks"


def marked_text(notebook: nbformat.NotebookNode) -> str:
    """What the marked cells of a notebook say as plain text."""
    said = [
        str(output.get("text") or output.get("data", {}).get("text/plain", "")).rstrip()
        for cell in notebook.cells
        if cell.cell_type == "code" and cell.source.startswith(MARK)
        for output in cell.outputs
    ]
    return "\n".join(filter(None, said))


def check() -> int:
    """Run the start notebook without a screen, with a casebook of its own; print what its marked cells say."""
    notebook = nbformat.read(notebooks() / START, as_version=4)
    with tempfile.TemporaryDirectory() as folder:
        os.environ["SHOULDREAD_CASEBOOK"] = str(Path(folder) / "casebook.sqlite")
        place = {"metadata": {"path": folder}}
        quiet = ["--log-level=ERROR"]
        try:
            NotebookClient(notebook, timeout=300, resources=place, extra_arguments=quiet).execute()
        except CellExecutionError as error:
            print(f"The start notebook does not run:\n{error}", file=sys.stderr)
            return 1
    said = marked_text(notebook)
    print(said or f"No cell of {START} says anything; one must begin with {MARK}.")
    return 0 if said else 1


def digest(path: Path) -> str:
    """What tells two states of a file apart."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def own_copies(source: Path, mine: Path) -> None:
    """Copy the notebooks to work in; a copy that was written in is never overwritten, an untouched one kept fresh.

    The start notebook is copied without its saved outputs: what it shows is then all of the user's own making.
    """
    mine.mkdir(parents=True, exist_ok=True)
    record = mine / ".copied.json"
    copied = json.loads(record.read_text(encoding="utf-8")) if record.is_file() else {}
    for path in sorted(source.glob("*.ipynb")):
        copy, known = mine / path.name, copied.get(path.name)
        known = known if isinstance(known, dict) else {}
        renewed = known.get("of") != digest(path)
        if not copy.exists() or (renewed and known.get("as") == digest(copy)):
            shutil.copyfile(path, copy)
            if path.name == START:
                _without_outputs(copy)
            copied[path.name] = {"of": digest(path), "as": digest(copy)}
        elif renewed and digest(copy) != digest(path):
            print(f"{path.name} has changed in the kit; yours in {mine} is kept. Move it away to get the new one.")
    record.write_text(json.dumps(copied), encoding="utf-8")


def _without_outputs(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    nbformat.write(notebook, path)


def lab_command(mine: Path, port: int | None, browser: bool) -> list[str]:
    """The lab on this computer only, with its token, without terminals and news, in a workspace of its own."""
    command = [
        *(sys.executable, "-m", "jupyterlab"),
        "--ServerApp.log_level=WARN",
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.root_dir={mine}",
        "--ServerApp.terminals_enabled=False",
        "--ServerApp.jpserver_extensions=shouldread.opening=True",  # the kernel starts while the page loads
        f"--LabApp.app_settings_dir={PACKAGE / 'lab_settings'}",
        f"--LabApp.extra_labextensions_path={PACKAGE / 'lab_settings' / 'labextensions'}",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        f"--LabApp.default_url=/lab/workspaces/shouldread/tree/{START}",
    ]
    command += [f"--ServerApp.port={port}"] if port else []
    command += [] if browser else ["--no-browser"]
    command += ["--allow-root"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    return command


def lab(port: int | None, browser: bool) -> int:
    """Open the lab; on systems that can, in this process's place, so that Ctrl-C reaches the lab alone."""
    at_home = notebooks() == CHECKOUT / "notebooks"
    mine = notebooks() / "mine" if at_home else Path.home() / "shouldread-notebooks"
    own_copies(notebooks(), mine)
    command = lab_command(mine, port, browser)
    print(f"Opening the lab on the notebooks in {mine}. Ctrl-C here ends it.", flush=True)
    if os.name == "nt":
        return subprocess.call(command)
    os.execv(command[0], command)


def main() -> int:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m shouldread", description=__doc__)
    parser.add_argument("--check", action="store_true", help="run the start notebook without a screen")
    parser.add_argument("--no-browser", action="store_true", help="only print the lab's address")
    parser.add_argument("--port", type=int, help="the lab's port on this computer")
    asked = parser.parse_args()
    os.environ["JUPYTER_PREFER_ENV_PATH"] = "1"  # this environment's kernel, not one that lies in the user's folder
    warm_up(lambda words: print(words, flush=True))
    return check() if asked.check else lab(asked.port, not asked.no_browser)


if __name__ == "__main__":
    sys.exit(main())
