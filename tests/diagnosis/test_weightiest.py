"""Which cells go on to the next panel: a bound on their number, next to no belief lost, no hypothesis lost."""

import numpy as np
import pytest
from shouldread.diagnosis.mind import OWN, weightiest

MOST = 12_000


def test_few_cells_are_left_as_they_are_but_for_those_that_hold_next_to_nothing() -> None:
    log = np.array([0.0, -3.0, -30.0, -1.0])
    kept, gone = weightiest(log, np.array([0, 0, 1, 2]), MOST, 4)
    assert kept.tolist() == [0, 1, 2, 3] and gone.tolist() == [0, 0, 0, 0]
    kept, gone = weightiest(np.array([0.0, -3.0, -24.0, -30.0]), np.array([0, 0, 1, 1]), MOST, 2)
    assert kept.tolist() == [0, 1, 2]
    assert gone == pytest.approx([0, np.exp(-6) / (1 + np.exp(-6))])


def test_of_many_the_heaviest_go_on_and_nearly_all_of_every_hypothesis() -> None:
    """Less steep than measured on a sequencer, where a twentieth holds all but 1e-4 of belief."""
    dice = np.random.default_rng(3)
    owner = np.repeat(np.arange(40), 4000)
    log = -dice.exponential(60.0, len(owner)) - dice.exponential(1.0, 40)[owner]
    log[owner == 39] += log.max() - 15.0 - log[owner == 39].max()
    kept, gone = weightiest(log, owner, MOST, 40)
    assert MOST <= len(kept) <= MOST + 40 * 16 and (np.diff(kept) > 0).all()
    assert set(owner[kept]) == set(range(40)), "the last one weighs little, and may weigh more after the next reading"
    share = np.exp(log - log.max())
    assert share[kept].sum() / share.sum() > 0.95
    rest = np.setdiff1d(np.arange(len(log)), kept)
    assert share[rest].max() <= np.sort(share)[-MOST]
    for one in range(40):
        here = np.exp(log[owner == one] - log[owner == one].max())
        held = np.exp(log[kept][owner[kept] == one] - log[owner == one].max())
        assert gone[one] == pytest.approx(1 - held.sum() / here.sum(), abs=1e-9)
        assert held.sum() / here.sum() > OWN or len(held) >= 16
