"""What all tests share: a casebook of their own, the same random examples each time, and their order."""

import os
import tempfile
from pathlib import Path

import hypothesis
import pytest

hypothesis.settings.register_profile("kit", derandomize=True, deadline=None)
hypothesis.settings.load_profile("kit")

_OWN = tempfile.TemporaryDirectory(prefix="shouldread-tests-")
if "PYTEST_XDIST_WORKER" in os.environ:  # of two that run side by side each writes in its own
    os.environ.pop("SHOULDREAD_CASEBOOK", None)
os.environ.setdefault("SHOULDREAD_CASEBOOK", str(Path(_OWN.name) / "casebook.sqlite"))


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Browser tests come last: what drives the browser holds the thread's event loop until the end."""
    items.sort(key=lambda item: item.get_closest_marker("browser") is not None)
