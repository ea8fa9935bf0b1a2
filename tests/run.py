"""Bring what the tests need, then run all of them.

python3 tests/run.py           everything but the campaigns
python3 tests/run.py --quick   without browser and packaging
python3 tests/run.py --long    with the campaigns
"""

import argparse
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PYTHON = ROOT / (".venv/Scripts/python.exe" if os.name == "nt" else ".venv/bin/python")
NEEDS = {"ngspice": ["ngspice", "libngspice0"], "chromium": ["chromium"]}


def bring(quick: bool) -> None:
    """Engine and browser from the system's packages; says what cannot be brought, and fails."""
    missing = [tool for tool in NEEDS if not shutil.which(tool) and not (quick and tool == "chromium")]
    if not missing:
        return
    packages = [package for tool in missing for package in NEEDS[tool]]
    line = ["apt-get", "install", "-y", "-q", *packages]
    if not shutil.which("apt-get") or os.geteuid() != 0:
        sys.exit(f"The tests need {' and '.join(missing)}: install them (Debian: sudo {' '.join(line)}) and run again.")
    env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    subprocess.call(["apt-get", "update", "-q"], env=env)
    if subprocess.call(line, env=env) != 0:
        sys.exit(f"{' '.join(line)} failed; the tests need it.")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--long", action="store_true")
    asked = parser.parse_args()
    if subprocess.call([sys.executable, str(ROOT / "kit/start.py"), "--prepare", "tests"]) != 0:
        return 1
    bring(asked.quick)
    marks = [] if asked.long else ["not long"]
    marks += ["not browser", "not package"] if asked.quick else []
    run = [str(PYTHON), "-m"]
    steps = [
        ("lint", [*run, "ruff", "check", "kit", "tests"]),
        ("format", [*run, "ruff", "format", "--check", "kit", "tests"]),
        ("types", [*run, "mypy"]),
        ("layers", [str(PYTHON.parent / "lint-imports")]),
        ("notebooks", [*run, "pytest", "-q", "--nbval-lax", "-o", "filterwarnings=default", "notebooks"]),
        ("tests", [*run, "pytest", "-q", "--durations=10", *(["-m", " and ".join(marks)] if marks else [])]),
    ]
    failed = []
    for name, command in steps:
        print(f"== {name}", flush=True)
        start = time.monotonic()
        if subprocess.call(command, cwd=ROOT) != 0:
            failed.append(name)
        print(f"== {name}: {time.monotonic() - start:.0f} s", flush=True)
    print("failed: " + ", ".join(failed) if failed else "all passed", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
