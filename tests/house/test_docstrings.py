"""Examples in docstrings run; every public verb has one."""

import doctest
import importlib

import pytest
import shouldread as sr

from tests.house.source import modules

FINDER = doctest.DocTestFinder(exclude_empty=True)
NAMES = [module.name for module in modules() if ">>> " in module.text and module.room]
VERBS = [name for name in sr.__all__ if name not in ("KitError", "Rails", "Reading")]


@pytest.mark.parametrize("name", NAMES)
def test_examples_of_a_module(name: str) -> None:
    """As ``python -m doctest`` would run them, on the module that everybody else uses."""
    module = importlib.import_module(name)
    told: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    for test in FINDER.find(module, name):
        runner.run(test, out=told.append)
    assert runner.tries, f"{name} has examples that nothing finds"
    assert not runner.failures, "".join(told)


@pytest.mark.parametrize("verb", VERBS)
def test_public_verb_shows_an_example(verb: str) -> None:
    """The first line says what it is for; below it stands something to type."""
    documented = getattr(sr, verb)
    assert documented.__doc__, f"{verb} says nothing"
    assert any(test.examples for test in FINDER.find(documented, verb)), f"{verb} shows no example"
