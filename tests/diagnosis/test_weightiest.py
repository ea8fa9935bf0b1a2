"""Which cells go on to the next panel: a bound on their number, next to no belief lost, no hypothesis lost."""

import numpy as np
from shouldread.diagnosis.mind import MOST, weightiest


def test_few_cells_are_left_as_they_are_but_for_those_that_hold_next_to_nothing() -> None:
    log = np.array([0.0, -3.0, -30.0, -1.0])
    assert weightiest(log, np.array([0, 0, 1, 2])).tolist() == [0, 1, 3]


def test_of_many_the_heaviest_go_on_and_the_best_of_every_hypothesis() -> None:
    """Less steep than measured on a sequencer, where a twentieth holds all but 1e-4 of belief."""
    dice = np.random.default_rng(3)
    owner = np.repeat(np.arange(40), 4000)
    log = -dice.exponential(60.0, len(owner)) - dice.exponential(1.0, 40)[owner]
    log[owner == 39] += log.max() - 15.0 - log[owner == 39].max()
    kept = weightiest(log, owner)
    assert MOST <= len(kept) <= MOST + 40 and (np.diff(kept) > 0).all()
    assert set(owner[kept]) == set(range(40)), "the last one weighs little, and may weigh more after the next reading"
    share = np.exp(log - log.max())
    assert share[kept].sum() / share.sum() > 0.95 and share[kept].min() >= 1e-9
    rest = np.setdiff1d(np.arange(len(log)), kept)
    assert share[rest].max() <= np.sort(share)[-MOST]
