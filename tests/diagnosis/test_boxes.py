"""Boxes: every stretch straight, all of the axis covered, edges shared, the same whoever is asked for beside."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from shouldread.diagnosis.boxes import BEND, Answer, Boxes, Region, cut, overlaid

Array = NDArray[np.float64]
SIGMA = 0.03


@dataclass
class Toy:
    """Hypothesis 0: 6 V whatever happens. 1: a divider whose lower leg runs over four decades. 2: two such legs."""

    asked: list[int] = field(default_factory=list)

    def at(self, owner: NDArray[np.intp], points: Array, middles: int) -> Answer:
        """Volts of the divider at points."""
        self.asked.append(len(owner))
        volts = np.where(owner == 0, 6.0, np.where(owner == 1, one(points[:, 0]), two(points[:, 0], points[:, 1])))
        mean = volts[:, None]
        told = ~((owner == 3) & (points[:, 0] > 0.7))
        return Answer(np.where(told[:, None], mean, np.nan), np.full_like(mean, SIGMA), told)


def one(x: Array) -> Array:
    leg = 10 ** (2 + 4 * x)
    return np.asarray(12 * leg / (leg + 1e4))


def two(x: Array, z: Array) -> Array:
    leg = 1 / (10 ** -(2 + 4 * x) + 10 ** -(5 + 2 * z))
    return np.asarray(12 * leg / (leg + 1e4))


EXISTS = np.array([[0, 0], [1, 0], [1, 1], [1, 0]], dtype=bool)
USUAL, FINE = np.zeros(2, dtype=bool), np.ones(2, dtype=bool)  # how its axes are cut


def boxes(numbers: list[int]) -> Boxes:
    return cut(Toy(), np.array(numbers), EXISTS, USUAL)


def test_boxes_cover_each_axis_once() -> None:
    made = boxes([0, 1, 2, 3])
    share = np.bincount(made.region.owner, np.exp(made.region.log_weight))
    assert np.allclose(share, 1.0)
    assert (np.bincount(made.region.owner) > 0).all()


def test_inside_a_box_the_law_is_straight() -> None:
    made = boxes([1])
    for low, high, mean, slope in zip(made.region.low, made.region.high, made.mean, made.slope, strict=True):
        x = np.linspace(low[0], high[0], 33)
        line = mean[0] + slope[0, 0] * (x - (low[0] + high[0]) / 2)
        assert np.abs(line - one(x)).max() < 1.6 * BEND * SIGMA


def test_neighbours_meet_at_their_edges() -> None:
    made = boxes([1])
    half = (made.region.high - made.region.low)[:, 0] / 2
    right, left = made.mean[:, 0] + made.slope[:, 0, 0] * half, made.mean[:, 0] - made.slope[:, 0, 0] * half
    assert np.allclose(right[:-1], left[1:], atol=1e-9)


def test_a_symmetric_s_is_not_taken_for_a_line() -> None:
    """The divider's middle lies exactly on the chord of its ends (10 k of 100 Ω to 1 M): it is halved all the same."""
    assert (boxes([1]).region.owner == 1).sum() > 8


def test_what_has_no_axis_is_one_box() -> None:
    assert len(boxes([0]).told) == 1


def test_no_steady_answer_is_cut_off_from_what_has_one() -> None:
    made = boxes([3])
    untold = made.region.log_weight[~made.told]
    assert 0.25 < np.exp(untold).sum() < 0.35


def test_company_changes_nothing() -> None:
    alone, together = boxes([2]), boxes([0, 1, 2, 3])
    here = together.region.owner == 2
    assert np.array_equal(alone.region.low, together.region.low[here])
    assert np.array_equal(alone.mean, together.mean[here])


def test_no_point_is_asked_twice() -> None:
    toy = Toy()
    cut(toy, np.array([0, 1, 2]), EXISTS, USUAL)
    seen: set[tuple[float, ...]] = set()
    for owner, point in _points(toy):
        assert (owner, *point) not in seen
        seen.add((owner, *point))


def _points(toy: Toy) -> list[tuple[float, tuple[float, ...]]]:
    asked: list[tuple[float, tuple[float, ...]]] = []

    class Noted(Toy):
        def at(self, owner: NDArray[np.intp], points: Array, middles: int) -> Answer:
            asked.extend((float(o), tuple(p)) for o, p in zip(owner, points, strict=True))
            return Toy.at(self, owner, points, middles)

    cut(Noted(), np.array([0, 1, 2]), EXISTS, USUAL)
    return asked


def test_two_cuttings_laid_on_each_other_cover_the_whole_once() -> None:
    first, second = boxes([1, 2]), boxes([1, 2])
    half = Region(np.array([1, 1, 2]), np.array([[0, 0], [0, 0.5], [0, 0]]), np.array([[1, 0.5], [1, 1], [1, 1.0]]))
    for a, b in ((first.region, second.region), (first.region, half), (half, second.region)):
        _, _, both = overlaid(a, b)
        assert np.allclose(np.bincount(both.owner, np.exp(both.log_weight))[1:], 1.0)


def test_a_box_whose_end_has_no_steady_answer_keeps_its_level() -> None:
    """Hypothesis 3 reads as 2 does up to 0.7, then nothing steady: no told box may be drawn to 0 by what is not told."""
    made = boxes([3])
    told = made.told
    middle = made.region.middle[told]
    off = np.abs(made.mean[told, 0] - two(middle[:, 0], middle[:, 1]))
    assert off.max() < 4 * SIGMA
    rise = np.abs(made.slope[told, 0, 0]) * (made.region.high - made.region.low)[told, 0]
    assert rise.max() < 3.0  # the steepest box of a divider over four decades; a fall to 0 would be more


def test_an_axis_can_be_cut_finer() -> None:
    usual, fine = (cut(Toy(), np.array([0, 1, 2]), EXISTS, how) for how in (USUAL, FINE))
    assert len(fine.region.owner) > len(usual.region.owner)
