"""The front door: few names, all there, each loaded only when it is asked for."""

import ast
import subprocess
import sys

import pytest
import shouldread as sr

from tests.house.source import PACKAGE, ROOT

VERBS = {
    *("shelf", "load_circuit", "solve", "expect", "fault_table", "walk_rails", "diagnose", "confirm", "hunt_short"),
    *(
        "explain",
        "stress",
        "choose_part",
        "prove",
        "drill",
        "bench",
        "exercise",
        "Casebook",
        "Reading",
        "Rails",
        "KitError",
    ),
}
HEAVY = {"numpy", "scipy", "numba", "pint", "matplotlib", "pandas", "sympy", "networkx", "IPython", "ipywidgets"}
LONGEST_IMPORT = 0.3  # seconds


def fresh(code: str) -> str:
    """What a new Python prints."""
    command = [sys.executable, "-c", f"import sys; sys.path.insert(0, {str(ROOT / 'kit')!r})\n{code}"]
    return subprocess.run(command, capture_output=True, text=True, check=True, timeout=60).stdout.strip()


def test_public_names() -> None:
    """``__all__`` is exactly the verbs and nouns that the README promises, and ``dir`` shows them."""
    assert set(sr.__all__) == VERBS
    assert len(sr.__all__) <= 20
    assert set(dir(sr)) >= VERBS
    public = {name for name in vars(sr) if not name.startswith("_") and type(getattr(sr, name)) is not type(sys)}
    assert public <= VERBS | {"Any", "TYPE_CHECKING", "import_module", "ModuleType"}, public


@pytest.mark.parametrize("name", sorted(VERBS))
def test_each_name_comes_when_it_is_asked_for(name: str) -> None:
    """A verb or a noun, out of the room that the table names."""
    found = getattr(sr, name)
    assert callable(found) and found.__name__ == name
    assert found.__module__.startswith(f"shouldread.{sr._ROOM[name]}")


def test_type_checkers_see_the_same_table() -> None:
    """What an editor completes is what the table at the door brings."""
    tree = ast.parse((PACKAGE / "__init__.py").read_text(encoding="utf-8"))
    block = next(node for node in tree.body if isinstance(node, ast.If))
    seen = {
        alias.asname: node.module for node in block.body if isinstance(node, ast.ImportFrom) for alias in node.names
    }
    assert seen == {name: f"shouldread.{room}" for name, room in sr._ROOM.items()}


def test_import_is_quick() -> None:
    """The best of three, so that a busy computer does not decide."""
    code = "import time; t = time.perf_counter(); import shouldread; print(time.perf_counter() - t)"
    assert min(float(fresh(code)) for _ in range(3)) < LONGEST_IMPORT


def test_import_loads_nothing_heavy() -> None:
    loaded = fresh("import shouldread; print(*{name.partition('.')[0] for name in sys.modules})").split()
    assert not HEAVY & set(loaded)


def test_unknown_name() -> None:
    with pytest.raises(AttributeError, match="no attribute 'diagnoze'"):
        _ = sr.diagnoze


def test_verbs_that_share_a_name_with_their_room() -> None:
    """``sr.solve`` is the verb, whatever was imported before."""
    assert fresh("import shouldread.solve, shouldread as sr; print(callable(sr.solve))") == "True"
    assert fresh("import shouldread as sr, shouldread.solve; sr.solve; print(callable(sr.solve))") == "True"
