"""Set shouldread up in a folder of its own (.venv) and open it. Needs nothing but Python 3.11 or newer.

python3 kit/start.py [--no-browser] [--port N]   open the lab at the start notebook
python3 kit/start.py --check                     run that notebook without a screen and print its suspects
python3 kit/start.py --prepare tests             only set up, with what the tests need
python3 kit/start.py --download FOLDER           fill a folder with everything, for a PC without a network
python3 kit/start.py --from FOLDER               set up from such a folder
"""
import argparse
import hashlib
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
READY = VENV / "ready.json"
BUSY = ROOT / ".venv.lock"
NEWEST, OLDEST = 14, 11
ROOM = 1500 * 1000 * 1000  # bytes: what .venv and the download take


def stop(sentence):
    print(sentence, file=sys.stderr)
    sys.exit(1)


def suitable(command):
    """Whether a command starts a Python that is new enough and can make environments."""
    test = "import sys, ensurepip, venv; sys.exit(not (3, 11) <= sys.version_info[:2] < (3, 15))"
    try:
        return subprocess.call(command + ["-c", test], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) == 0
    except OSError:
        return False


def find_python():
    """The command of a suitable Python: this one first, then newer to older, then what uv knows."""
    commands = [[sys.executable]] + [["python3.%d" % minor] for minor in range(NEWEST, OLDEST - 1, -1)]
    if os.name == "nt":
        commands += [["py", "-3.%d" % minor] for minor in range(NEWEST, OLDEST - 1, -1)]
    for command in commands:
        if suitable(command):
            return command
    if shutil.which("uv"):
        found = subprocess.run(["uv", "python", "find", ">=3.11"], stdout=subprocess.PIPE, universal_newlines=True)
        if found.returncode == 0 and suitable([found.stdout.strip()]):
            return [found.stdout.strip()]
    if os.name == "nt":
        stop("Python 3.11 or newer is needed: install it from python.org, then type  py kit\\start.py")
    if sys.platform == "darwin":
        stop("Python 3.11 or newer is needed: install it from python.org or with  brew install python")
    stop("Python 3.11 or newer with its venv module is needed: on Debian or Ubuntu type\n"
         "    sudo apt-get install python3-venv\nand start again.")


def wanted():
    """What a ready environment must match: place, form of the project and the lock file."""
    digest = hashlib.sha256()
    for name in ("pyproject.toml", "kit/lock.txt"):
        digest.update((ROOT / name).read_bytes())
    return {"path": str(ROOT), "digest": digest.hexdigest()}


def is_ready():
    try:
        told = json.loads(READY.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return all(told.get(k) == v for k, v in wanted().items()) and inside().exists()


def inside():
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def quiet_environment():
    """The caller's settings without those that would lead an install astray."""
    env = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "PYTHONHOME", "PIP_TARGET", "PIP_PREFIX")}
    env.update(PIP_USER="0", PIP_NO_INPUT="1", PIP_DISABLE_PIP_VERSION_CHECK="1", JUPYTER_PREFER_ENV_PATH="1")
    return env


def pip(*arguments):
    if subprocess.call([str(inside()), "-m", "pip"] + list(arguments), env=quiet_environment()) != 0:
        stop("The packages could not be installed; the lines above say why. Nothing else on this computer was changed.")


def set_up(folder):
    """Make .venv anew; ready.json comes last, so that a half-made one is never taken for ready."""
    if VENV.exists() and not (VENV / "pyvenv.cfg").exists() and any(VENV.iterdir()):
        stop("%s is there already and is no environment of ours: move it away." % VENV)
    if shutil.disk_usage(str(ROOT)).free < ROOM:
        stop("Setting up needs 1.5 GB of free disk space.")
    try:
        os.close(os.open(str(BUSY), os.O_CREAT | os.O_EXCL))
    except FileExistsError:
        stop("Another start is setting up this folder. If that is not so, delete %s and start again." % BUSY)
    try:
        print("Setting up in %s: about 190 MB to download, 1 GB on disk, two minutes." % VENV, flush=True)
        shutil.rmtree(str(VENV), ignore_errors=True)
        if subprocess.call(find_python() + ["-m", "venv", str(VENV)], env=quiet_environment()) != 0:
            stop("The environment could not be made; the lines above say why.")
        source = ["--no-index", "--find-links", str(folder)] if folder else []
        pip("install", "--quiet", "--only-binary", ":all:", "--require-hashes", "-r", str(ROOT / "kit/lock.txt"), *source)
        pip("install", "--quiet", "--no-deps", "--no-build-isolation", "-e", str(ROOT))
        READY.write_text(json.dumps(wanted()), encoding="utf-8")
    finally:
        BUSY.unlink()


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--no-browser", action="store_true")
    parser.add_argument("--port", type=int)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--prepare", choices=["tests"])
    parser.add_argument("--from", dest="folder", type=Path)
    parser.add_argument("--download", type=Path)
    asked = parser.parse_args()
    fresh = not is_ready()
    if fresh:
        set_up(asked.folder)
    if asked.download:
        pip("download", "--only-binary", ":all:", "--require-hashes", "-r", str(ROOT / "kit/lock.txt"),
            "-d", str(asked.download))
        return
    if asked.prepare:
        return
    command = [str(inside()), "-m", "shouldread"] + (["--check"] if asked.check else [])
    command += ["--no-browser"] * asked.no_browser + (["--port", str(asked.port)] if asked.port else [])
    try:
        sys.exit(subprocess.call(command, env=quiet_environment(), cwd=str(ROOT)))
    except KeyboardInterrupt:
        sys.exit(0)


if __name__ == "__main__":
    main()
