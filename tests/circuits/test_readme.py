"""The README of the circuits shows a file that reads, and names every fact, detail and block that there is."""

import re

import pytest
import shouldread as sr
from shouldread.circuit import Circuit, facts
from shouldread.meter import measure
from shouldread.parts import KINDS

from tests.house.source import ROOT

TEXT = (ROOT / "circuits/README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def example() -> Circuit:
    shown = re.findall(r"```spice\n(.*?)```", TEXT, re.DOTALL)
    assert len(shown) == 1
    return sr.load_circuit(shown[0])


def test_the_example_does_what_it_says(example: Circuit) -> None:
    """It loads, and its known readings hold."""
    assert example.states == ("run", "missing", "sagging")
    assert example.readings
    for r in example.readings:
        shown = measure(
            example,
            r.at,
            r.to,
            setting=r.setting,
            state=r.state,
            fault=r.fault or None,
            condition=r.condition or None,
        )
        assert r.value.low <= shown.value <= r.value.high, f"{r.at}: {shown.text}"


@pytest.mark.parametrize("keys", ["TOP", "PART_KEYS", "NODE_KEYS", "READING_KEYS"])
def test_every_fact_is_named(keys: str) -> None:
    missing = [key for key in getattr(facts, keys) if not re.search(rf"\b{key}\b", TEXT)]
    assert not missing, missing


def test_every_detail_and_block_is_named() -> None:
    """Varieties that a person would write; ``inside`` is for what cannot be taken out of a package."""
    details = {d for kind in KINDS.values() for d in kind.details if d}
    blocks = {path.stem.upper() for path in (ROOT / "circuits/models").glob("*.cir")}
    missing = sorted(name for name in details | blocks if not re.search(rf"\b{name}\b", TEXT))
    assert not missing, missing
