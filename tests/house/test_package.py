"""The built package carries all it needs and runs far from the checkout."""

import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

from tests.house.source import ROOT

pytestmark = pytest.mark.package


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with the source archive and the wheel that was built from it."""
    folder = tmp_path_factory.mktemp("dist")
    command = [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(folder), str(ROOT)]
    told = subprocess.run(command, capture_output=True, text=True, timeout=300)
    assert told.returncode == 0, told.stdout + told.stderr
    return folder


def test_wheel_carries_circuits_and_notebooks_and_no_more(built: Path) -> None:
    with zipfile.ZipFile(next(built.glob("*.whl"))) as wheel:
        names = wheel.namelist()
    assert "shouldread/py.typed" in names
    for folder, pattern in {"circuits": "*.cir", "notebooks": "[0-9]*.ipynb"}.items():
        here = {path.name for path in (ROOT / folder).rglob(pattern) if "mine" not in path.parts}
        there = {Path(name).name for name in names if name.startswith(f"shouldread/{folder}/")}
        assert here and here <= there
    assert {name.split("/")[0] for name in names} == {"shouldread", "shouldread-0.1.0.dist-info"}
    assert not [name for name in names if "/mine/" in name or "__pycache__" in name]
    data = [
        path for path in (ROOT / "kit" / "shouldread").rglob("*") if path.suffix in (".toml", ".js", ".css", ".json")
    ]
    assert {path.relative_to(ROOT / "kit").as_posix() for path in data} <= set(names)


def test_source_archive_has_the_tests_but_no_copies(built: Path) -> None:
    with tarfile.open(next(built.glob("*.tar.gz"))) as archive:
        names = archive.getnames()
    assert any(name.endswith("tests/run.py") for name in names)
    assert not [name for name in names if "/mine/" in name or "/.venv/" in name]


def test_runs_away_from_the_checkout(built: Path, tmp_path: Path) -> None:
    """Installed with the locked packages into a fresh environment, the start notebook finds its suspects."""
    place = tmp_path / "elsewhere"
    venv.create(place, with_pip=True)
    python = place / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
    lock = ["--only-binary", ":all:", "--require-hashes", "-r", str(ROOT / "kit" / "lock.txt")]
    for what in (lock, ["--no-deps", str(next(built.glob("*.whl")))]):
        run(python, tmp_path, "-m", "pip", "install", "--quiet", *what)
    where = run(python, tmp_path, "-c", "import shouldread; print(shouldread.__file__)")
    assert str(place) in where and str(ROOT) not in where
    assert "likely" in run(python, tmp_path, "-m", "shouldread", "--check").lower()


def run(python: Path, folder: Path, *arguments: str) -> str:
    """What a command of the fresh environment prints, with nothing inherited that could help it."""
    env = {"PATH": "/usr/bin:/bin", "HOME": str(folder), "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
    command = [str(python), *arguments]
    told = subprocess.run(command, cwd=folder, env=env, capture_output=True, text=True, timeout=600)
    assert told.returncode == 0, told.stdout[-2000:] + told.stderr[-2000:]
    return told.stdout
