"""Every example of the documents runs and prints what the document says it prints."""

from doctest import ELLIPSIS

import pytest
from sybil import Sybil
from sybil.parsers.markdown import PythonCodeBlockParser

from tests.house.source import ROOT

DOCUMENTS = ["README.md", "DEVELOPERS.md"]


@pytest.mark.parametrize("name", DOCUMENTS)
def test_examples_run(name: str) -> None:
    """Examples of one document share their names, in order, as a reader would type them."""
    reader = Sybil(parsers=[PythonCodeBlockParser(doctest_optionflags=ELLIPSIS)], path=str(ROOT), pattern=name)
    examples = list(reader.parse(ROOT / name).examples())
    assert examples, f"{name} shows nothing that runs"
    for example in examples:
        example.evaluate()


def test_readme_opens_with_the_job_then_the_two_commands() -> None:
    """A newcomer reads what it is for and the two commands before anything else."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    job, start, tests = text.index("should this point read"), text.index("kit/start.py"), text.index("tests/run.py")
    assert job < start < tests < text.index(">>>")


def test_top_level_holds_only_what_belongs_there() -> None:
    """The top of the checkout stays readable at a glance."""
    wanted = {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml"}
    wanted |= {"kit", "notebooks", "circuits", "tests", "dist", "build"}
    strays = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} - wanted
    assert not strays, strays
