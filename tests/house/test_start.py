"""The first command: readable by old Pythons, careful with what it finds, clear about what it lacks."""

import ast
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType

import pytest

from tests.house.source import ROOT

START = ROOT / "kit" / "start.py"
SECONDS = 30  # a second start on a busy computer of two cores


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The program as a module, looking at a small checkout of its own."""
    spec = importlib.util.spec_from_file_location("start", START)
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    for name in ("kit", "tests"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "lock.txt").write_text(name)
    (tmp_path / "pyproject.toml").write_text("[project]")
    venv = tmp_path / ".venv"
    places = {"ROOT": tmp_path, "VENV": venv, "OURS": venv / "made-by-shouldread", "READY": venv / "ready.json"}
    for name, place in places.items():
        monkeypatch.setattr(module, name, str(place))
    monkeypatch.setattr(module, "PYTHON", sys.executable)
    monkeypatch.setattr(module, "runs", lambda *command: Path(command[0]).exists())
    return module


def make_ready(start: ModuleType, groups: list[str]) -> None:
    os.makedirs(start.VENV, exist_ok=True)
    Path(start.READY).write_text(json.dumps(start.wanted(groups)))


def test_any_python_from_3_6_can_read_it() -> None:
    ast.parse(START.read_text(encoding="utf-8"), feature_version=(3, 6))


def test_needs_only_the_standard_library_and_stays_short() -> None:
    text = START.read_text(encoding="utf-8")
    assert text.count("\n") <= 150
    imported = {a.name for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Import) for a in node.names}
    assert imported <= sys.stdlib_module_names
    assert not any(isinstance(node, ast.ImportFrom) for node in ast.walk(ast.parse(text)))


def test_ready_means_complete_in_place_and_up_to_date(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing made by half, moved, or made from other files is taken for ready."""
    assert not start.is_ready(["kit"])
    make_ready(start, ["kit"])
    assert start.is_ready(["kit"])
    assert not start.is_ready(["kit", "tests"])
    make_ready(start, ["kit", "tests"])
    assert start.is_ready(["kit"]) and start.is_ready(["kit", "tests"])
    Path(start.ROOT, "kit", "lock.txt").write_text("another version")
    assert not start.is_ready(["kit"])
    make_ready(start, ["kit"])
    monkeypatch.setattr(start, "PYTHON", "/nowhere/python")
    assert not start.is_ready(["kit"])


@pytest.mark.parametrize("text", ["", "{", "[]", '{"groups": ["kit"]}', '{"groups": ["other"]}'])
def test_damaged_record_is_not_ready(start: ModuleType, text: str) -> None:
    os.makedirs(start.VENV)
    Path(start.READY).write_text(text)
    assert not start.is_ready(["kit"])


def test_leaves_a_foreign_folder_alone(start: ModuleType) -> None:
    """A .venv that somebody else made is never removed."""
    os.makedirs(start.VENV)
    theirs = Path(start.VENV, "theirs")
    theirs.write_text("work")
    with pytest.raises(SystemExit, match="was not made by this kit: move it away"):
        start.set_up(["kit"], None)
    assert theirs.read_text() == "work"


def test_says_how_much_room_it_needs(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda place: shutil._ntuple_diskusage(2e9, 1e9, 1e9))  # type: ignore
    with pytest.raises(SystemExit, match=r"1\.5 GB of free disk space"):
        start.set_up(["kit"], None)
    assert not Path(start.VENV).exists()


def test_half_made_folder_of_ours_is_made_anew(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """After Ctrl-C or a power cut the next start begins again, and ready.json comes last."""
    os.makedirs(start.OURS)
    Path(start.VENV, "rubble").write_text("")
    asked: list[tuple[str, ...]] = []

    def pip(*arguments: str, groups: tuple[str, ...] = ()) -> None:
        assert not Path(start.READY).exists()
        asked.append(arguments)

    monkeypatch.setattr(start, "pip", pip)
    monkeypatch.setattr(start, "make_venv", lambda: None)
    start.set_up(["kit"], "wheels")
    assert not Path(start.VENV, "rubble").exists()
    assert start.is_ready(["kit"])
    assert asked[0][2:] == ("--no-index", "--find-links", os.path.abspath("wheels"))
    assert {"--no-deps", "--no-build-isolation", "-e"} <= set(asked[1])


def test_finds_a_newer_python(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """An old python3 hands over to the newest that is there; the one in use is kept when it will do."""
    monkeypatch.setattr(shutil, "which", lambda name: None)
    monkeypatch.setattr(start, "runs", lambda *command: command[0] in ("python3.12", "python3.13"))
    assert start.find_python() == ["python3.13"]
    monkeypatch.setattr(start, "runs", lambda *command: True)
    assert start.find_python() == [sys.executable]
    monkeypatch.setattr(start, "runs", lambda *command: False)
    with pytest.raises(SystemExit, match=r"Python 3\.11 to 3\.14 is needed; this is 3\."):
        start.find_python()


def test_missing_venv_module_names_the_line_to_type(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is installed silently with somebody's rights: the exact line, and an end."""
    monkeypatch.setattr(start, "runs", lambda *command: "ensurepip" not in command[-1])
    monkeypatch.setattr(shutil, "which", lambda name: None)
    package = f"python3.{sys.version_info.minor}-venv"
    with pytest.raises(SystemExit, match=f"sudo apt-get install {package}"):
        start.make_venv()


def test_drops_settings_that_lead_astray(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", "/somewhere")
    monkeypatch.setenv("PIP_USER", "1")
    code = f"import runpy; print(runpy.run_path({str(START)!r})['ENV'])"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    env = ast.literal_eval(told.stdout)
    assert "PYTHONPATH" not in env
    assert env["PIP_USER"] == "0" and env["JUPYTER_PREFER_ENV_PATH"] == "1"


@pytest.mark.parametrize("lock", ["kit/lock.txt", "tests/lock.txt"])
def test_lock_holds_names_versions_and_hashes_only(lock: str) -> None:
    """No address of an index, nothing without a hash: the same packages next year."""
    lines = (ROOT / lock).read_text(encoding="utf-8").splitlines()
    heads = [line for line in lines if not line.startswith("    ")]
    assert len(heads) > 20
    assert all("==" in line and line.endswith(" \\") for line in heads)
    hashes = [line.strip().removesuffix(" \\") for line in lines if line.startswith("    ")]
    assert len(hashes) >= len(heads) and all(line.startswith("--hash=sha256:") for line in hashes)


@contextmanager
def lab(port: int, folder: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The lab as a person starts it, until its address has been printed; stopped at the end."""
    command = [sys.executable, str(START), "--no-browser", "--port", str(port)]
    with (folder / "said.txt").open("w+") as said:
        running = subprocess.Popen(command, stdout=said, stderr=subprocess.STDOUT, text=True)
        try:
            yield running, address(running, folder / "said.txt")
        finally:
            running.terminate()
            running.wait(timeout=30)


def address(running: subprocess.Popen[str], said: Path) -> str:
    """What a person would click on."""
    end = time.monotonic() + 240
    while time.monotonic() < end and running.poll() is None:
        for word in said.read_text().split():
            if word.startswith("http://127.0.0.1") and "token=" in word:
                return word
        time.sleep(0.2)
    raise AssertionError(f"no address was printed:\n{said.read_text()}")


def status(url: str) -> int:
    try:
        with urllib.request.urlopen(url, timeout=20) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as error:
        with error:
            return error.code


@pytest.mark.package
def test_lab_opens_for_this_computer_alone(tmp_path: Path) -> None:
    """On loopback, with its token, without terminals and news, at a copy of the start notebook."""
    port = 18765
    with lab(port, tmp_path) as (_, url):
        base, token = f"http://127.0.0.1:{port}", url.rpartition("token=")[2]
        assert "/lab/workspaces/shouldread/tree/00_start_here.ipynb" in url
        assert len(token) >= 40
        assert status(f"{base}/api/contents") == 403
        assert status(f"{base}/api/contents/00_start_here.ipynb?token={token}") == 200
        assert status(f"{base}/api/terminals?token={token}") == 404
        news = f"{base}/lab/api/settings/@jupyterlab/apputils-extension:notification?token={token}"
        with urllib.request.urlopen(news, timeout=20) as answer:
            default = json.load(answer)["schema"]["properties"]["fetchNews"]["default"]
        assert default == "false"
    assert (ROOT / "notebooks" / "mine" / "00_start_here.ipynb").is_file()


@pytest.mark.package
def test_second_start_takes_seconds_and_prints_the_suspects() -> None:
    subprocess.run([sys.executable, str(START), "--prepare", "tests"], check=True, timeout=900)
    begun = time.monotonic()
    told = subprocess.run([sys.executable, str(START), "--check"], capture_output=True, text=True, timeout=300)
    took = time.monotonic() - begun
    assert told.returncode == 0, told.stderr
    assert "likely" in told.stdout.lower()
    assert took < SECONDS
