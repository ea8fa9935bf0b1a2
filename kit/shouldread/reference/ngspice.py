"""ngspice behind a pipe: found, started, asked, restarted when it dies or stays silent."""

import atexit
import base64
import ctypes
import ctypes.util
import json
import os
import platform
import queue
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

INSTALL: Mapping[str, str] = {
    "Linux": "sudo apt install libngspice0 (or your distribution's ngspice library)",
    "Darwin": "brew install libngspice",
    "Windows": "put the folder of ngspice.dll on PATH, or set NGSPICE_LIBRARY_PATH to it",
}
SCRIPT = Path(__file__).with_name("child.py")
START = 30.0  # seconds until a new process answers


@dataclass(frozen=True, slots=True)
class Reply:
    """Vectors by name as asked, what ngspice said, and in ``trouble`` why there are none ("" when all is well)."""

    vectors: Mapping[str, NDArray[np.float64]] = field(default_factory=dict)
    said: tuple[str, ...] = ()
    trouble: str = ""


def library() -> str | None:
    """Where libngspice is: NGSPICE_LIBRARY_PATH if set, else what the system finds; None when it cannot be loaded."""
    told = os.environ.get("NGSPICE_LIBRARY_PATH")
    for place in [told] if told else _places():
        try:
            ctypes.CDLL(place)
        except OSError:
            continue
        return place
    return None


def _places() -> list[str]:
    found = ctypes.util.find_library("ngspice")
    places = [found] if found else []
    conda = os.environ.get("CONDA_PREFIX")
    system = platform.system()
    if system == "Windows":
        folders = [Path(conda, "Library", "bin")] if conda else []
        names = ["ngspice.dll"]
    else:
        folders = [Path(conda, "lib")] if conda else []
        folders += [Path("/opt/homebrew/lib"), Path("/usr/local/lib")] if system == "Darwin" else []
        names = (
            ["libngspice.0.dylib", "libngspice.dylib"] if system == "Darwin" else ["libngspice.so.0", "libngspice.so"]
        )
    return places + [str(folder / name) for folder in folders for name in names] + names


def how_to_install() -> str:
    """One line for this system."""
    return INSTALL.get(platform.system(), "install ngspice's shared library")


class Ngspice:
    """The child process; starts when first asked, one question at a time."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._process: subprocess.Popen[str] | None = None
        self._lines: queue.Queue[str] = queue.Queue()
        self._folder = ""

    def ask(self, deck: str, vectors: Sequence[str], *, patience: float = 20.0) -> Reply | None:
        """Run a deck that the kit wrote itself. None where ngspice cannot be had; seconds of ``patience``."""
        place = library()
        if place is None:
            return None
        with self._lock:
            fresh = self._process is None or self._process.poll() is not None
            if fresh:
                self._start(place)
            told = self._exchange(json.dumps({"deck": deck, "vectors": list(vectors)}), patience + START * fresh)
            if told is None:
                dead = self._process is not None and self._process.poll() is not None
                self._stop()
                return None if fresh and dead else Reply(trouble="it did not come to an end in time")
            if not told["alive"]:
                self._stop()
        said = tuple(told["said"])
        numbers = {k: np.frombuffer(base64.b64decode(v), dtype=np.float64) for k, v in told["vectors"].items()}
        return Reply(numbers, said, trouble(said, bool(numbers)))

    def _start(self, place: str) -> None:
        self._stop()
        self._folder = home = tempfile.mkdtemp(prefix="shouldread-")  # empty: no .spiceinit of anybody's is read
        keep = {k: v for k, v in os.environ.items() if not k.upper().startswith(("SPICE", "NGSPICE"))}
        own = {
            "NGSPICE_LIBRARY_PATH": place,
            "HOME": home,
            "USERPROFILE": home,
            "OPENBLAS_NUM_THREADS": "1",
            "OMP_NUM_THREADS": "1",
        }
        if platform.system() == "Windows":
            own |= {"NGSPICE_PATH": home, "SPICE_LIB_DIR": home}  # PySpice 1.5 stumbles when only the first is set
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-W", "ignore", str(SCRIPT)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            cwd=home,
            env=keep | own,
            text=True,
            encoding="utf-8",
        )
        self._lines = queue.Queue()
        threading.Thread(target=_listen, args=(self._process, self._lines), daemon=True).start()

    def _exchange(self, line: str, seconds: float) -> dict[str, Any] | None:
        assert self._process is not None and self._process.stdin is not None
        try:
            self._process.stdin.write(line + "\n")
            self._process.stdin.flush()
            reply = self._lines.get(timeout=seconds)
        except (OSError, queue.Empty):
            return None
        return json.loads(reply) if reply else None

    def _stop(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe is not None:
                    pipe.close()
        if self._folder:
            shutil.rmtree(self._folder, ignore_errors=True)
        self._process, self._folder = None, ""

    def close(self) -> None:
        """End the process."""
        with self._lock:
            self._stop()


def _listen(process: "subprocess.Popen[str]", lines: "queue.Queue[str]") -> None:
    assert process.stdout is not None
    try:
        for line in process.stdout:
            lines.put(line)
    except ValueError:
        pass  # closed while waiting
    lines.put("")


_SINGULAR = ("singular matrix", "it found no single answer: its equations are singular")
_SIGNS = (
    ("ransient op", "it found no operating point and fell back on a transient of its own"),
    ("resistance to low", "it cannot take so small a resistance"),
    ("unrecognized", "it does not know a parameter"),
    ("timestep too small", "its steps in time became too small"),
    ("no convergence", "it found no operating point"),
    ("aborted", "it gave up"),
)


def trouble(said: Sequence[str], answered: bool) -> str:
    """What makes an answer worthless, out of the lines that ngspice wrote; "" for a good one.

    ``singular matrix`` is said on the way to good answers too, so it counts only where there is none.
    """
    text = "\n".join(said).lower()
    for sign, words in _SIGNS:
        if sign in text:
            return words
    if not answered:
        return _SINGULAR[1] if _SINGULAR[0] in text else "it gave no answer"
    return ""


NGSPICE = Ngspice()
atexit.register(NGSPICE.close)
