"""Groups on a board: only what readings left in play is sorted by every offered reading; the rest costs nothing."""

import numpy as np
import pytest
import shouldread as sr
from shouldread.diagnosis import Diagnosis
from shouldread.diagnosis.groups import MOST, in_play, to_group


def test_in_play_are_the_leading_ones_that_count() -> None:
    share = np.full(300, 1e-6)
    share[[7, 250]] = 0.5
    assert in_play(share).tolist() == [7, 250]
    assert len(in_play(np.full(300, 1 / 300))) == MOST
    assert np.flatnonzero(to_group(share)).tolist() == [7, 250]


def test_a_small_circuit_sorts_everything() -> None:
    share = np.zeros(30)
    share[3] = 1.0
    assert to_group(share).all()


@pytest.fixture(scope="module")
def read() -> Diagnosis:
    return sr.diagnose(sr.load_circuit("controller_card"), "5V 0.05; EN5 0.02")


def test_every_suspect_has_one_group(read: Diagnosis) -> None:
    named = [name for group in read.groups for name in group.faults]
    assert len(named) == len(set(named)) == len(read.suspects)
    assert sum(g.share for g in read.groups) + read.healthy + read.none_of_these == pytest.approx(1.0)


def test_what_is_in_play_never_stands_with_what_is_not(read: Diagnosis) -> None:
    playing = {s.fault for s in read.suspects if s.share > 1e-4}
    for group in read.groups:
        here = [name in playing for name in group.faults]
        assert all(here) or not any(here) or len(playing) >= MOST


def test_readings_in_turn_and_at_once_give_the_same_groups(read: Diagnosis) -> None:
    both = sr.diagnose(read.circuit, "5V 0.05").also("EN5 0.02")
    assert [g.faults for g in both.groups] == [g.faults for g in read.groups]
