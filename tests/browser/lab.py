"""A lab server of the tests' own, on loopback, with nothing of the user's in reach."""

import json
import os
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import nbformat
from shouldread.__main__ import lab_command

ROOT = Path(__file__).resolve().parents[2]
SETTINGS = {
    "@jupyterlab/apputils-extension:notification": {"checkForUpdates": False, "fetchNews": "false"},
    # every cell has a size, so that a test sees what a person would see after scrolling
    "@jupyterlab/notebook-extension:tracker": {"windowingMode": "none"},
    "@jupyterlab/docmanager-extension:plugin": {"autosave": False},
}


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Lab:
    """The running server: its address, its folder of notebooks and the casebook that its kernels write."""

    def __init__(self, place: Path, as_started: bool = False) -> None:
        """With ``as_started`` just as the kit's own command opens it, else with settings for tests."""
        self.folder = place / "notebooks"
        self.casebook = place / "casebook.sqlite"
        self.url = f"http://127.0.0.1:{free_port()}"
        self._log = place / "lab.log"
        settings = place / "app_settings"
        for folder in (self.folder, settings):
            folder.mkdir(parents=True, exist_ok=True)
        (settings / "overrides.json").write_text(json.dumps(SETTINGS), encoding="utf-8")
        with self._log.open("w") as log:
            self._server = subprocess.Popen(
                self._as_started() if as_started else self._command(settings),
                env=self._env(place),
                stdout=log,
                stderr=subprocess.STDOUT,
            )
        self._wait()

    def _command(self, settings: Path) -> list[str]:
        return [
            *(sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", "--ServerApp.ip=127.0.0.1"),
            *(f"--ServerApp.port={self.url.rpartition(':')[2]}", "--ServerApp.port_retries=0"),
            *("--IdentityProvider.token=", "--ServerApp.terminals_enabled=False"),
            *(f"--ServerApp.root_dir={self.folder}", f"--LabApp.app_settings_dir={settings}"),
            "--LabApp.expose_app_in_browser=True",
        ]

    def _as_started(self) -> list[str]:
        """The kit's own command, without a token and with a way into the page."""
        command = lab_command(self.folder, int(self.url.rpartition(":")[2]), browser=False)
        return [*command, "--allow-root", "--IdentityProvider.token=", "--LabApp.expose_app_in_browser=True"]

    def _env(self, place: Path) -> dict[str, str]:
        own = {
            name: str(place / name.lower())
            for name in (
                *("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR"),
                *("JUPYTERLAB_SETTINGS_DIR", "JUPYTERLAB_WORKSPACES_DIR"),
            )
        }
        own |= {"SHOULDREAD_CASEBOOK": str(self.casebook), "PYTHONPATH": str(ROOT / "kit")}
        return {**os.environ, **own, "JUPYTER_PREFER_ENV_PATH": "1"}

    def _wait(self) -> None:
        end = time.monotonic() + 120
        while time.monotonic() < end and self._server.poll() is None:
            try:
                with urllib.request.urlopen(f"{self.url}/api/status", timeout=5):
                    return
            except OSError:
                time.sleep(0.2)
        raise AssertionError(f"the lab did not come up:\n{self._log.read_text()}")

    @property
    def log(self) -> str:
        """What the server said so far."""
        return self._log.read_text(encoding="utf-8", errors="replace")

    def write(self, name: str, cells: list[str]) -> str:
        """A notebook of those code cells; returns its file name."""
        notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(text) for text in cells])
        notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3", "language": "python"}
        nbformat.write(notebook, self.folder / f"{name}.ipynb")
        return f"{name}.ipynb"

    def stop(self) -> None:
        """End the server; its kernels end with it."""
        self._server.terminate()
        self._server.wait(timeout=60)
