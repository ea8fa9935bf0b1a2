"""A quick look at a few points that all hypotheses share, beside thousands of points drawn at random."""

import math

import numpy as np
import pytest
import shouldread as sr
from scipy.special import ndtr
from scipy.stats import qmc
from shouldread.diagnosis.dictionary import LOOKS, OFF
from shouldread.diagnosis.laws import Laws, differ, laws_of
from shouldread.diagnosis.panel import Panel
from shouldread.diagnosis.ranging import Ranging
from shouldread.diagnosis.scale import Scale
from shouldread.diagnosis.sights import Sights
from shouldread.diagnosis.spots import MOST, Spots, spots
from shouldread.diagnosis.stopping import StoppedError
from shouldread.diagnosis.stretches import Stretches

AXES = 12


@pytest.mark.parametrize("count", LOOKS)
def test_spots_lie_evenly_on_every_axis(count: int) -> None:
    """So many equal parts of an axis hold one spot each."""
    where = np.floor(spots(count, AXES) * count).astype(int)
    assert (np.sort(where, axis=0) == np.arange(count)[:, None]).all()


def test_more_spots_go_on_where_fewer_ended() -> None:
    assert (spots(MOST, AXES)[: LOOKS[0]] == spots(LOOKS[0], AXES)).all()


def test_spots_lie_more_evenly_than_chance() -> None:
    """Centred discrepancy over four axes (Hickernell 1998), by scipy, beside as many points drawn at random."""
    chance = np.mean([qmc.discrepancy(np.random.default_rng(k).random((MOST, 4))) for k in range(20)])
    assert qmc.discrepancy(spots(MOST, 4)) < 0.1 * chance


def random_law(panel: Panel, number: int, limits: np.ndarray, count: int = 3000) -> np.ndarray:
    """Share of readings below each limit, by points drawn at random."""
    axes = len(panel.board.variables.axes)
    points = np.random.default_rng(number).random((count, axes))
    told = panel.predicted(np.full(count, number), points)
    mean = told.mean[:, 0]
    variance = ((told.loads[:, 0] * panel.board.variables.doubt) ** 2).sum(1) + told.loose[:, 0]
    deviation = np.sqrt(variance + panel.scale.variance(mean))
    return np.asarray(np.mean(ndtr((limits - mean[:, None]) / deviation[:, None]), axis=0))


# a leak with stray IC pins beside it, one alone, a value nobody knows, a contact
CASES = (
    ("usb_port_switch", ("VBUS", "0"), "D1 leaky", "C1 open"),
    ("vehicle_supply_input", ("CLAMP", "0"), "D2 leaky", "C1 open"),
    ("bead_local_rail", ("V3", "VA"), "RFB1 short", "C1 open"),
    ("sensor_power_switch", ("SENS", "0"), "R3S open", "Q3 base open"),
)


@pytest.mark.parametrize(("name", "pair", "one", "other"), CASES)
def test_what_spots_tell_apart_is_what_random_points_do(
    name: str, pair: tuple[str, str], one: str, other: str
) -> None:
    """Total variation by sorted spots, beside that of smoothed random points, within one and a half spots."""
    mind = sr.diagnose(sr.load_circuit(name), "")._mind
    offer = next(o for o in mind.offers if (o.pair, o.setting) == (pair, "ohms"))
    numbers = np.sort([mind.board.hypotheses.index[fault] for fault in (one, other)])
    within = Ranging(mind.panels, [offer]).ranges(numbers, offer)[int(numbers[0])]
    panel, row = mind.panels.holding(offer.context, Scale(mind.board.meter, "ohms", within), offer.pair)
    seen = _sights(panel, row, numbers, MOST)
    seen = seen.stretches(_places(seen, numbers))
    reach = 6 * np.sqrt(seen.variance)
    limits = np.sort(np.concatenate([seen.mean + k * reach / 12 for k in range(-12, 13)]))
    laws = [random_law(panel, int(number), limits) for number in numbers]
    exact = np.abs(np.diff(laws[0] - laws[1], prepend=0.0, append=0.0)).sum()
    for count in LOOKS:
        told = differ(_laws(_sights(panel, row, numbers, count), numbers), np.array([0]), np.array([1]))
        assert float(told[0]) == pytest.approx(exact, abs=2 * OFF / count + 0.03), f"{count} spots"


def _sights(panel: Panel, row: int, numbers: np.ndarray, count: int) -> Sights:
    return Sights.of([(Spots(panel), row)], [numbers], count)


def _places(seen: Sights, numbers: np.ndarray) -> np.ndarray:
    return seen.place(np.zeros_like(numbers), numbers)


def _laws(seen: Sights, numbers: np.ndarray) -> Laws:
    which = _places(seen, numbers)
    return seen.laws(seen.stretches(which), which)


def test_a_law_of_two_axes_is_spread_as_their_sum_is() -> None:
    """Two even axes that add up make a triangle; its flanks hold 1/8 below a quarter of the way (by hand)."""
    at = np.sort(spots(64, 2).sum(1))
    rise = np.gradient(at)
    ones = np.ones(64)
    law = laws_of(
        Stretches(np.ones(64, dtype=int), ones / 64, at, 1e-8 * ones, rise, ones > 0), np.array([1]), math.inf
    )
    below = np.interp([0.5, 1.0, 1.5], law.marks[0], law.below[0])
    assert below == pytest.approx([0.125, 0.5, 0.875], abs=0.02)


@pytest.mark.parametrize("name", ["two_feed_enable", "buck_feedback"])
def test_what_is_surely_apart_or_the_same_is_so_by_the_laws(name: str) -> None:
    """All pairs of faults at all nodes of the first state: the quick words agree with the laws, and both are said."""
    mind = sr.diagnose(sr.load_circuit(name), "")._mind
    panel, count = mind.panels.volts(mind.board.context("")), LOOKS[0]
    numbers, seen = np.arange(1, len(mind.board.hypotheses)), Spots(panel)
    left, right = np.triu_indices(len(numbers), 1)
    said = {"apart": 0, "same": 0}
    for row in range(len(panel.pairs)):
        laws = _laws(Sights.of([(seen, row)], [numbers], count), numbers)
        between, whole = differ(laws, left, right), laws.told > 1 - 1e-9
        apart, same = (
            seen.beyond([row], left + 1, right + 1, count),
            seen.same([row], left + 1, right + 1, count)[:, 0],
        )
        told = whole[left] & whole[right]
        assert (between[apart] > 1.99).all() and (between[same & told] < 0.05).all()
        said["apart"] += int(apart.sum())
        said["same"] += int(same.sum())
    assert min(said.values()) > 100, said


def test_a_look_that_was_stopped_is_taken_again(monkeypatch: pytest.MonkeyPatch) -> None:
    panel = sr.diagnose(sr.load_circuit("npn_inverter_enable"), "")._mind.panels
    volts = panel.volts(panel.board.context(""))
    seen, numbers = Spots(volts), np.array([1, 2])
    with monkeypatch.context() as stopped:
        stopped.setattr(Panel, "predicted", lambda *_: (_ for _ in ()).throw(StoppedError("stopped")))
        with pytest.raises(StoppedError):
            seen.beside(numbers, [0], LOOKS[0])
    assert len(seen.beside(numbers, [0], LOOKS[0])[0]) == len(numbers)
