"""Mixtures, groups and gains: against draws, against counting, against a published example of sequential diagnosis."""

import itertools

import numpy as np
import pytest
from shouldread.diagnosis.flat import Flat
from shouldread.diagnosis.gain import entropy, expected_gain
from shouldread.diagnosis.groups import groups_of, together_of, told_alike
from shouldread.diagnosis.laws import laws_at
from shouldread.diagnosis.mixture import Mixture, below, bin_shares, edges_for
from shouldread.diagnosis.scale import Scale
from shouldread.diagnosis.stretches import Stretches
from shouldread.meter import meter

MIXED = Mixture(
    np.array([0.2, 0.5, 0.3]), np.array([0.0, 2.0, 5.0]), np.array([0.01, 0.25, 0.04]), np.array([1.0, 0.0, -3.0])
)


def test_quantiles_are_those_of_drawn_boards() -> None:
    draw = np.random.default_rng(5)
    which = draw.choice(3, 400_000, p=MIXED.weight)
    boards = MIXED.mean[which] + MIXED.rise[which] * draw.uniform(-0.5, 0.5, len(which))
    boards = boards + np.sqrt(MIXED.variance[which]) * draw.normal(size=len(which))
    shares = (0.005, 0.05, 0.5, 0.95, 0.995)
    for share, value in zip(shares, MIXED.quantiles(shares), strict=True):
        assert value == pytest.approx(np.quantile(boards, share), abs=0.03)
        assert MIXED.below(value) == pytest.approx(share, abs=1e-9)


def test_bins_hold_everything_once() -> None:
    edges = edges_for(MIXED.mean, MIXED.variance, MIXED.rise, 40)
    shares = bin_shares(MIXED.mean, MIXED.variance, MIXED.rise, edges)
    assert np.allclose(shares.sum(1), 1.0) and (shares >= 0).all() and len(edges) <= 40


def dictionary(mean: list[float]) -> np.ndarray:
    at, ones = np.array(mean), np.ones(len(mean))
    return bin_shares(at, 0.01 * ones, 0 * ones, edges_for(at, 0.01 * ones, 0 * ones, 160))


def grouped(dictionaries: list[np.ndarray], count: int) -> list[int]:
    """Groups of faults that every dictionary leaves alike."""
    left, right = np.triu_indices(count, 1)
    still = np.all([told_alike(np.abs(shares[left] - shares[right]).sum(1)) for shares in dictionaries], axis=0)
    return groups_of(together_of(left[still], right[still], count)).tolist()


def test_groups_are_what_no_probe_tells_apart() -> None:
    """Faults 0 and 1 differ nowhere, 2 at one probe only, 3 by far less than the display's spread."""
    probes = [dictionary([1.0, 1.0, 1.0, 1.0, 4.0]), dictionary([2.0, 2.0, 3.0, 2.005, 2.0])]
    assert grouped(probes, 5) == [0, 0, 1, 0, 2]


def test_groups_do_not_hang_on_the_order_of_faults() -> None:
    mean = [1.0, 1.012, 1.024, 5.0, 5.0]  # a chain: neighbours alike, its ends less so
    known = grouped([dictionary(mean)], 5)
    for order in itertools.permutations(range(5)):
        shuffled = grouped([dictionary([mean[k] for k in order])], 5)
        for a, b in itertools.combinations(range(5), 2):
            assert (shuffled[a] == shuffled[b]) == (known[order[a]] == known[order[b]])


def gain(values: list[float], weights: list[float], groups: list[int], slipping: float = 0.0) -> float:
    dead = Scale(meter("handheld"), "volts", across=True)
    shares, spread = np.array(weights), np.full(len(values), float(dead.variance(np.zeros(1))[0]))
    return expected_gain(
        np.array(values), spread, shares, np.array(groups), max(groups) + 1, Flat(dead, 20.0), slipping * shares
    )


def test_a_clean_half_split_gains_one_bit() -> None:
    assert gain([0.0, 0.0, 5.0, 5.0], [0.25] * 4, [0, 1, 2, 3]) == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize("slipping", [0.01, 0.1, 0.5])
def test_a_reading_that_may_be_a_slip_gains_as_a_channel_with_erasures_does(slipping: float) -> None:
    """MacKay, Information Theory, Inference and Learning Algorithms, 2003, 9.2: what a channel tells is the entropy
    before less that after, here by hand: 0 V, 5 V, or anything else."""
    zero, wrong_zero, anything = 1 - slipping + 0.2 * slipping, 0.2 * slipping, 0.8 * slipping
    seen = (zero + wrong_zero) / 2
    doubt = seen * entropy(np.array([zero, wrong_zero]) / (zero + wrong_zero)) + anything
    assert gain([0.0, 5.0], [0.5, 0.5], [0, 1], slipping) == pytest.approx(1 - doubt, abs=3e-3)


def test_what_only_parts_members_of_a_group_gains_nothing() -> None:
    assert gain([0.0, 5.0], [0.5, 0.5], [0, 0]) == pytest.approx(0.0, abs=1e-9)


def test_gain_is_never_negative_nor_more_than_the_doubt() -> None:
    draw = np.random.default_rng(2)
    for _ in range(50):
        weights = draw.dirichlet(np.ones(6)) * draw.uniform(0.5, 1.0)
        doubt = entropy(np.append(weights, 1 - weights.sum()))
        told = gain(list(draw.normal(size=6)), list(weights), list(range(6)))
        assert 0.0 <= told <= doubt + 1e-9


def test_the_polybox_is_probed_at_x_first() -> None:
    """De Kleer and Williams, Diagnosing multiple faults, Artificial Intelligence 32 (1987) 97-130: after F = 10 and
    G = 12 the next best measurement is X. Shares by Bayes' rule for a fault probability of 0.01 each."""
    #            A1       M1       M2+M3    A2+M2
    odds = np.array([0.47803, 0.47803, 0.00483, 0.00483])
    shares = list(odds / odds.sum())
    values = {"X": [6, 4, 6, 6], "Y": [6, 6, 4, 4], "Z": [6, 6, 8, 6]}
    told = {at: gain([float(v) for v in row], shares, [0, 1, 2, 3]) for at, row in values.items()}
    assert max(told, key=lambda at: told[at]) == "X" and told["X"] == pytest.approx(1.0, abs=0.02)
    assert told["Y"] == pytest.approx(0.079, abs=0.005) and told["Z"] < told["Y"]


def test_density_is_the_slope_of_what_lies_below() -> None:
    """And what is summed of stretches is what each of them holds."""
    at = np.linspace(-1.0, 3.0, 41)
    mean, variance, rise = np.array([0.0, 1.0, 2.0]), np.array([0.01, 0.04, 0.09]), np.array([0.0, 1.5, 0.05])
    slope = (below(mean, variance, rise, at + 1e-5) - below(mean, variance, rise, at - 1e-5)) / 2e-5
    weight = np.array([0.2, 0.3, 0.5])
    laws = laws_at(Stretches(np.ones(3, dtype=int), weight, mean, variance, rise, np.ones(3, dtype=bool)), at)
    assert laws.density[0] == pytest.approx(weight @ slope, abs=1e-5)
    assert laws.below[0] == pytest.approx(weight @ below(mean, variance, rise, at), abs=1e-12)
