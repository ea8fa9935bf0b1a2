"""Set shouldread up in a folder of its own (.venv) and open it. Needs nothing but Python 3.11 or newer.

python3 kit/start.py [--no-browser] [--port N]   open the lab at the start notebook
python3 kit/start.py --check                     run that notebook without a screen and print its suspects
python3 kit/start.py --prepare tests             only set up, with what the tests need
python3 kit/start.py --download FOLDER           fill a folder with all packages, for a PC without a network
python3 kit/start.py --from FOLDER               set up from such a folder
"""
# Any Python from 3.6 on must be able to read this file: it finds a newer one and goes on with that.
import argparse
import hashlib
import json
import os
import shutil
import subprocess
import sys

if os.name != "nt":
    import fcntl

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
VENV = os.path.join(ROOT, ".venv")
PYTHON = os.path.join(VENV, "Scripts", "python.exe") if os.name == "nt" else os.path.join(VENV, "bin", "python")
OURS = os.path.join(VENV, "made-by-shouldread")  # comes first: only a folder that bears it is ever removed
READY = os.path.join(VENV, "ready.json")  # comes last: a half-made folder is never taken for ready
LOCKS = {"kit": "kit/lock.txt", "tests": "tests/lock.txt"}
SUITABLE = "import sqlite3, sys; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 14))"
STRAY = ("PYTHONPATH", "PYTHONHOME", "PIP_TARGET", "PIP_PREFIX", "VIRTUAL_ENV")
ENV = {key: value for key, value in os.environ.items() if key not in STRAY}
ENV.update(PIP_USER="0", PIP_NO_INPUT="1", PIP_DISABLE_PIP_VERSION_CHECK="1", JUPYTER_PREFER_ENV_PATH="1")


def runs(*command):
    """Whether a command exists and ends well; what it prints is dropped."""
    try:
        return subprocess.call(command, env=ENV, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) == 0
    except OSError:
        return False


def find_python():
    """The command of a suitable Python: this one, else the newest on the search path, else one that uv knows."""
    commands = [[sys.executable]] + [["python3.%d" % minor] for minor in (14, 13, 12, 11)]
    commands += [["py", "-3.%d" % minor] for minor in (14, 13, 12, 11)] if os.name == "nt" else []
    if shutil.which("uv"):
        found = subprocess.run(["uv", "python", "find", ">=3.11,<3.15"], env=ENV, stdout=subprocess.PIPE)
        commands += [[found.stdout.decode().strip()]]
    for command in commands:
        if runs(*command + ["-c", SUITABLE]):
            return command
    how = "from python.org, then type  py kit\\start.py" if os.name == "nt" else "with your system's packages or brew"
    sys.exit("Python 3.11 to 3.14 is needed; this is %s. Install one %s." % (sys.version.split()[0], how))


def make_venv():
    """An empty environment in .venv. Some systems ship Python without the means; uv or their packages bring them."""
    python = find_python()
    make = python + ["-m", "venv", VENV]
    if not runs(*python + ["-c", "import ensurepip, venv"]):
        name = "import sys; print('python%d.%d-venv' % sys.version_info[:2], end='')"
        package = subprocess.check_output(python + ["-c", name]).decode()
        if shutil.which("uv"):
            make = ["uv", "venv", "--quiet", "--seed", "--allow-existing", "--python", python[-1], VENV]
        elif shutil.which("apt-get") and os.geteuid() == 0:
            subprocess.call(["apt-get", "update", "-q"], env=ENV)
            subprocess.call(["apt-get", "install", "-y", "-q", package], env=ENV)
        else:
            sys.exit("Python's venv module is missing. Type\n    sudo apt-get install %s\nand start again." % package)
    if subprocess.call(make, env=ENV) != 0:
        sys.exit("The environment %s could not be made; the lines above say why." % VENV)


def wanted(groups):
    """What a ready environment must match: its place, what is installed in it, and the state of those files."""
    digest = hashlib.sha256()
    for name in ["pyproject.toml"] + [LOCKS[group] for group in groups]:
        with open(os.path.join(ROOT, name), "rb") as file:
            digest.update(file.read())
    return {"path": ROOT, "groups": groups, "digest": digest.hexdigest()}


def is_ready(groups):
    """Whether .venv is complete, still in its place, made from these files, and its Python still runs."""
    try:
        with open(READY, encoding="utf-8") as file:
            told = json.load(file)
        have = told["groups"]
        return told == wanted(have) and set(groups) <= set(have) and runs(PYTHON, "-c", "import shouldread, pip")
    except (OSError, ValueError, KeyError, TypeError):
        return False


def pip(*arguments, groups=()):
    """Run pip, on every package of some groups by version and hash; nothing is ever compiled here."""
    for group in groups:
        arguments += ("--only-binary", ":all:", "--require-hashes", "-r", os.path.join(ROOT, LOCKS[group]))
    if subprocess.call([PYTHON, "-m", "pip"] + list(arguments), env=ENV) != 0:
        sys.exit("pip could not bring the packages; the lines above say why. Nothing outside .venv was changed.")


def set_up(groups, folder):
    """Make .venv, or add to it what the tests need; one start at a time."""
    if os.path.exists("/etc/alpine-release"):
        sys.exit("This Linux has the musl C library; numba, which shouldread needs, comes for glibc systems only.")
    if os.path.isdir(VENV) and os.listdir(VENV) and not os.path.exists(OURS):
        sys.exit("%s was not made by this kit: move it away and start again." % VENV)
    if not is_ready(["kit"]):
        if shutil.disk_usage(ROOT).free < 1.5e9:
            sys.exit("Setting up needs 1.5 GB of free disk space.")
        print("Setting up %s: about 190 MB to download, 1 GB on disk, two to three minutes." % VENV, flush=True)
        shutil.rmtree(VENV, ignore_errors=True)
        os.makedirs(OURS)
        make_venv()
    elif os.path.exists(READY):
        os.remove(READY)
    source = ["--no-index", "--find-links", os.path.abspath(folder)] if folder else []
    pip("install", "--quiet", *source, groups=groups)
    pip("install", "--quiet", "--no-index", "--no-deps", "--no-build-isolation", "-e", ROOT)
    with open(READY, "w", encoding="utf-8") as file:
        json.dump(wanted(groups), file)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--no-browser", action="store_true")
    parser.add_argument("--port", type=int)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--prepare", choices=["tests"])
    parser.add_argument("--from", dest="folder", metavar="FOLDER")
    parser.add_argument("--download", metavar="FOLDER")
    asked = parser.parse_args()
    groups = ["kit", "tests"] if asked.prepare else ["kit"]
    if not is_ready(groups):
        with open(os.path.join(ROOT, ".venv.lock"), "w") as busy:  # freed by the system however this process ends
            if os.name != "nt":
                fcntl.flock(busy, fcntl.LOCK_EX)
            if not is_ready(groups):
                set_up(groups, asked.folder)
    command = [PYTHON, "-m", "shouldread"] + ["--check"] * asked.check + ["--no-browser"] * asked.no_browser
    command += ["--port", str(asked.port)] if asked.port else []
    if asked.download:
        pip("download", "-d", asked.download, groups=["kit"])
    elif not asked.prepare and os.name == "nt":
        sys.exit(subprocess.call(command, env=ENV))
    elif not asked.prepare:
        os.execve(PYTHON, command, ENV)  # in this process's place, so that Ctrl-C reaches the lab alone


if __name__ == "__main__":
    main()
