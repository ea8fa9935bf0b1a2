"""Bring what the tests need, then run all of them.

python3 tests/run.py           everything but the campaigns
python3 tests/run.py --quick   without browser, packaging and campaigns
python3 tests/run.py --long    everything, with the campaigns

Lint, types and layers are tests too (tests/house), so that one closing line speaks for all.
Two files at a time are run, where there is a core for each; campaigns, and what follows ``--``, one at a time, so that
times mean something. What follows ``--`` goes to pytest as it is, in place of all tests:
``python3 tests/run.py --quick -- tests/meter -x``.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PYTHON = ROOT / (".venv/Scripts/python.exe" if os.name == "nt" else ".venv/bin/python")
NGSPICE = ("ngspice", "libngspice0")
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "msedge")
LEFT_OUT = {"quick": "not browser and not package and not long", "full": "not long", "long": ""}


def missing(extent: str) -> list[str]:
    """System packages, by their Debian names, whose programs are not there yet."""
    engine = [] if shutil.which("ngspice") and has_library() else list(NGSPICE)
    browser = [] if extent == "quick" or any(map(shutil.which, BROWSERS)) else ["chromium"]
    programs = shutil.which("initdb") or any(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    server = ["postgresql"] if extent == "long" and not programs else []
    return engine + browser + server


def has_library() -> bool:
    """Whether ngspice can be loaded as a library."""
    test = "import ctypes, ctypes.util; ctypes.CDLL(ctypes.util.find_library('ngspice') or 'libngspice.so.0')"
    return subprocess.call([sys.executable, "-c", test], stderr=subprocess.DEVNULL) == 0


def bring(extent: str) -> None:
    """The second opinion, the browser and a database server, from the system's packages, or the run fails."""
    packages = missing(extent)
    if not packages:
        return
    install = ["apt-get", "install", "-y", "-q", *packages]
    if shutil.which("apt-get") and os.geteuid() == 0:
        env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        subprocess.call(["apt-get", "update", "-q"], env=env, stdout=subprocess.DEVNULL)
        subprocess.call(install, env=env, stdout=subprocess.DEVNULL)
    if left := missing(extent):
        how = f"sudo {' '.join(install)}" if shutil.which("apt-get") else f"install {' and '.join(left)}"
        sys.exit(
            f"The tests need {' and '.join(left)}, which could not be brought here. Type\n    {how}\nand run again."
        )


def side_by_side(extent: str, own: list[str]) -> bool:
    """Whether files of tests are run two at a time."""
    return extent != "long" and not own and (os.cpu_count() or 1) > 1


def main() -> int:
    """Read the command line, prepare, hand over to pytest."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    extent = parser.add_mutually_exclusive_group()
    extent.add_argument("--quick", dest="extent", action="store_const", const="quick", default="full")
    extent.add_argument("--long", dest="extent", action="store_const", const="long")
    parser.add_argument("pytest", nargs="*", help="arguments for pytest, after --")
    asked = parser.parse_args()
    bring(asked.extent)
    if subprocess.call([sys.executable, str(ROOT / "kit" / "start.py"), "--prepare", "tests"]) != 0:
        return 1
    what = asked.pytest or ["--nbval-lax", "tests", "notebooks"]
    marks = ["-m", LEFT_OUT[asked.extent]] if LEFT_OUT[asked.extent] else []
    together = ["-n", "2", "--dist", "loadfile"] if side_by_side(asked.extent, asked.pytest) else []
    with tempfile.TemporaryDirectory() as folder:
        own = {"SHOULDREAD_CASEBOOK": str(Path(folder) / "casebook.sqlite"), "JUPYTER_PREFER_ENV_PATH": "1"}
        command = [str(PYTHON), "-m", "pytest", "-q", "--durations=15", *together, *marks, *what]
        return subprocess.call(command, cwd=ROOT, env={**os.environ, **own})


if __name__ == "__main__":
    sys.exit(main())
