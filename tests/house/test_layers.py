"""Rooms import to the left only, through their doors, at the top of the module; heavy libraries stay at home."""

import importlib
import os
import subprocess
import sys

import pytest

from tests.house.source import ROOT, Import, modules

IMPORTS = [found for module in modules() for found in module.imports()]

LIBRARIES = {
    "numba": ("shouldread.solve", "shouldread.parts.laws"),
    "pint": ("shouldread.quantities.units",),
    "matplotlib": ("shouldread.views",),
    "ipywidgets": ("shouldread.views",),
    "anywidget": ("shouldread.views",),
    "IPython": ("shouldread.views",),
    "sympy": ("shouldread.explain",),
    "PySpice": ("shouldread.reference",),
    "sqlite3": ("shouldread.casebook",),
    "jinja2": ("shouldread.casebook", "shouldread.practice", "shouldread.views"),
}

# A door of its own inside a room: loaded by those who need it, so that the room itself stays light.
SIDE_DOORS = ("shouldread.parts.laws", "shouldread.quantities.units")


def is_lazy_place(found: Import) -> bool:
    """The two lazy places: the front door's table, and pandas when a table is asked for as a frame."""
    return found.function in ("frame", "_frame") and found.is_of("pandas")


def test_rooms_and_cycles() -> None:
    """The contracts in pyproject.toml hold, for the order of rooms and for cycles inside them."""
    command = [sys.executable, "-c", "from importlinter.cli import lint_imports_command as go; go()", "--no-cache"]
    env = {**os.environ, "PYTHONPATH": str(ROOT / "kit")}
    told = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, env=env, timeout=120)
    assert told.returncode == 0, told.stdout + told.stderr


@pytest.mark.parametrize("library", LIBRARIES)
def test_library_stays_in_its_room(library: str) -> None:
    """What is heavy, or a way out of the kit, is imported in one place only."""
    homes = LIBRARIES[library]
    strays = [str(f) for f in IMPORTS if f.is_of(library) and not f.module.name.startswith(homes)]
    assert not strays, "\n".join(strays)


def test_imports_stand_at_the_top() -> None:
    """No import is hidden in a function, save pandas in ``.frame()``."""
    hidden = [str(f) for f in IMPORTS if f.function and not is_lazy_place(f)]
    assert not hidden, "\n".join(hidden)


def test_pandas_only_for_frames() -> None:
    """pandas comes when a frame is asked for, never before."""
    early = [str(f) for f in IMPORTS if f.is_of("pandas") and not is_lazy_place(f)]
    assert not early, "\n".join(early)


def test_rooms_are_entered_by_their_doors() -> None:
    """One room imports from another by its ``__init__`` only."""
    passed = []
    for found in IMPORTS:
        parts = found.target.split(".")
        if parts[0] != "shouldread" or len(parts) < 3 or parts[1] == found.module.room:
            continue
        if not found.target.startswith(SIDE_DOORS):
            passed.append(str(found))
    assert not passed, "\n".join(passed)


def test_no_room_uses_the_front_door() -> None:
    """The front door is for people; rooms name the room they need."""
    users = [str(f) for f in IMPORTS if f.target == "shouldread" and f.module.room]
    assert not users, "\n".join(users)


@pytest.mark.parametrize("room", sorted({m.room for m in modules() if m.room}))
def test_door_lists_what_it_exports(room: str) -> None:
    """Each room's door has a sorted ``__all__`` of names that are there."""
    door = importlib.import_module(f"shouldread.{room}")
    assert door.__doc__
    assert len(set(door.__all__)) == len(door.__all__) > 0
    missing = [name for name in door.__all__ if not hasattr(door, name)]
    assert not missing, missing
