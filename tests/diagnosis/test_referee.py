"""Shares beside those of a referee that straightens nothing: the same model integrated by weighted draws."""

import numpy as np
import pytest
import shouldread as sr

from tests.benchmarks.diagnosis.boards import boards
from tests.benchmarks.diagnosis.measures import HEALTHY, shares_of
from tests.benchmarks.diagnosis.referee import Referee
from tests.benchmarks.diagnosis.stages import TWO_TRANSISTORS, known
from tests.benchmarks.diagnosis.worlds import ASSUMED

BOARDS, APART = 24, 0.05  # of 1; draws alone leave a few hundredths open on a board


def test_shares_are_those_of_the_model_without_a_shortcut() -> None:
    """Boards of the kit's own world, solved by ngspice: total variation between the two laws of belief."""
    draw = np.random.default_rng(20261126)
    start, referee = sr.diagnose(known(TWO_TRANSISTORS), ""), Referee(TWO_TRANSISTORS, draw)
    apart = []
    for board in boards(TWO_TRANSISTORS, BOARDS, draw, world=ASSUMED, healthy=0.4):
        mine = shares_of(start.also(board.text(TWO_TRANSISTORS.places)))
        exact = referee.shares(np.array([board.shown[p] for p in TWO_TRANSISTORS.places]))
        apart.append(sum(abs(mine.get(name, 0.0) - exact[name]) for name in exact) / 2)
    assert len(apart) == BOARDS and np.median(referee.worth) > 0.2, "the referee's draws are worth something"
    assert np.median(apart) < APART / 2 and np.mean(apart) < APART, np.round(apart, 3)


def test_the_referee_knows_a_board_without_anything_wrong() -> None:
    referee = Referee(TWO_TRANSISTORS, np.random.default_rng(1))
    healthy = sr.solve(known(TWO_TRANSISTORS)).volts
    shares = referee.shares(np.array([round(healthy[p], 3) for p in TWO_TRANSISTORS.places]))
    assert shares[HEALTHY] == max(shares.values()) and sum(shares.values()) == pytest.approx(1.0)
