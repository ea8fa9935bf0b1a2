"""What no reading tells apart: pair by pair, whatever was read before."""

import math

import numpy as np
import pytest
import shouldread as sr
from shouldread.diagnosis import Diagnosis
from shouldread.diagnosis.laws import differ, laws_of
from shouldread.diagnosis.spots import Spots
from shouldread.diagnosis.stretches import Stretches


def of_rows(*rows: tuple[int, float, float, float, float]) -> Stretches:
    """Stretches from (owner, weight, mean, deviation, rise)."""
    owner, weight, mean, deviation, rise = (np.array(column) for column in zip(*rows, strict=True))
    return Stretches(owner, weight, mean, deviation**2.0, rise * 1.0, np.ones(len(owner), dtype=bool))


def between(at: Stretches) -> float:
    return float(differ(laws_of(at, np.array([1, 2]), math.inf), np.array([0]), np.array([1]))[0])


@pytest.mark.parametrize("apart", [0.0, 0.25, 1.0, 3.0, 20.0])
def test_two_normal_laws_against_the_closed_form(apart: float) -> None:
    """Total variation of normal laws of one deviation: 2 Phi(d / 2) - 1 (Devroye and Lugosi 2001, ch. 5)."""
    told = between(of_rows((1, 1.0, 5.0, 0.1, 0.0), (2, 1.0, 5.0 + apart * 0.1, 0.1, 0.0)))
    exact = 2 * math.erf(apart / 2 / math.sqrt(2))
    assert 0.94 * exact - 0.003 <= told <= exact + 0.001, "where the laws cross between two marks a little is lost"


def test_two_even_laws_against_the_closed_form() -> None:
    """Even over 0 to 1 and over 0 to 2: half of each is common, so that the differences add up to 1."""
    told = between(of_rows((1, 1.0, 0.5, 1e-4, 1.0), (2, 1.0, 1.0, 1e-4, 2.0)))
    assert told == pytest.approx(1.0, abs=0.002)


def test_the_same_law_cut_otherwise_is_the_same() -> None:
    halves = of_rows((1, 1.0, 1.0, 0.01, 2.0), (2, 0.5, 0.5, 0.01, 1.0), (2, 0.5, 1.5, 0.01, 1.0))
    assert between(halves) < 0.002


def test_what_never_settles_differs_from_what_does() -> None:
    at = of_rows((1, 1.0, 1.0, 0.1, 0.0), (2, 0.5, 1.0, 0.1, 0.0), (2, 0.5, 9.0, 0.1, 0.0))
    at.told[2] = False
    assert between(at) == pytest.approx(1.0, abs=0.01)


def group_of(d: Diagnosis, fault: str) -> set[str]:
    return next({str(f) for f in group.faults} for group in d.groups if fault in [str(f) for f in group.faults])


@pytest.mark.parametrize("readings", ["", "EN 0.02", "B2 0.0"])
def test_shorts_between_the_same_two_pads_are_one_group(readings: str) -> None:
    """R5 lies across base and emitter of Q2: no probe on the board tells which of them is the short."""
    circuit = sr.load_circuit("two_feed_enable")
    assert set(circuit.part("R5").nodes) == set(circuit.part("Q2").nodes[1:])
    assert "Q2 base-emitter short" in group_of(sr.diagnose(circuit, readings), "R5 short")


def test_groups_do_not_hang_on_what_was_thought_of_before() -> None:
    """On a circuit that was just loaded, and after other readings on it that brought other suspects up."""
    readings = ("5V 0.05", "EN5 0.02")
    fresh = sr.diagnose(sr.load_circuit("controller_card"), "; ".join(readings)).groups
    circuit = sr.load_circuit("controller_card")
    for other in ("RELAY 11.9", readings[1]):
        assert sr.diagnose(circuit, other).groups
    used = sr.diagnose(circuit, readings[1]).also(readings[0]).groups
    assert [set(map(str, g.faults)) for g in used] == [set(map(str, g.faults)) for g in fresh]


def test_what_was_thought_ahead_is_not_worked_out_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """All suspects of a board sorted beforehand: a reading that brings others up finds its groups there, the same ones."""
    readings = "5V 0.05; EN5 0.02"
    fresh = sr.diagnose(sr.load_circuit("controller_card"), readings).groups
    waiting = sr.diagnose(sr.load_circuit("controller_card"), "")
    assert sum(1 for _ in waiting.think_ahead()) > 5, "step by step"
    monkeypatch.setattr(Spots, "keep", lambda *_: pytest.fail("a spot was looked at again"))
    assert [set(map(str, g.faults)) for g in waiting.also(readings).groups] == [set(map(str, g.faults)) for g in fresh]
