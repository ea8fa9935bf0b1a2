"""All numbers jointly, one possibly wrong: against the multivariate normal of scipy and plain integration over u."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal
from shouldread.diagnosis.intervals import conditioned
from shouldread.diagnosis.joint import Lines, fit, forecast

CELLS, ROWS, PARTS = 4, 4, 6
STRETCH = np.linspace(-0.5, 0.5, 4001)


@pytest.fixture
def lines() -> Lines:
    draw = np.random.default_rng(7)
    return Lines(
        draw.normal(size=(CELLS, ROWS)),
        0.3 * draw.normal(size=(CELLS, ROWS, PARTS)),
        2.0 * draw.normal(size=(CELLS, ROWS)),
        0.01 * draw.random((CELLS, ROWS)),
    )


READ = np.array([0.3, -0.8, 0.1, 1.2])
NOISE = np.diag([0.01, 0.02, 0.03, 0.02]) + 0.005  # fresh errors, and a gain error that all share


def integrated(lines: Lines, cell: int, rows: list[int]) -> tuple[float, float, float]:
    """Log density of some rows, mean and variance of u, by integration over the stretch."""
    covariance = lines.loads[cell] @ lines.loads[cell].T + np.diag(lines.loose[cell]) + NOISE
    covariance = covariance[np.ix_(rows, rows)]
    log = np.array(
        [
            multivariate_normal.logpdf(READ[rows], lines.mean[cell, rows] + u * lines.rise[cell, rows], covariance)
            for u in STRETCH
        ]
    )
    weight = np.exp(log - log.max())
    whole = np.trapezoid(weight, STRETCH)
    mean = np.trapezoid(weight * STRETCH, STRETCH) / whole
    return log.max() + np.log(whole), mean, np.trapezoid(weight * (STRETCH - mean) ** 2, STRETCH) / whole


def test_every_pattern_is_the_density_without_that_reading(lines: Lines) -> None:
    fitted = fit(lines, READ, NOISE)
    for cell in range(CELLS):
        for pattern in range(ROWS + 1):
            rows = [k for k in range(ROWS) if k != pattern - 1]
            log, mean, variance = integrated(lines, cell, rows)
            assert fitted.log[cell, pattern] == pytest.approx(log, abs=1e-4)
            assert fitted.place[cell, pattern] == pytest.approx(mean, abs=1e-4)
            assert fitted.breadth[cell, pattern] == pytest.approx(variance, rel=1e-2, abs=1e-6)


def test_no_reading_is_no_evidence(lines: Lines) -> None:
    none = fit(lines.rows(slice(0, 0)), np.zeros(0), np.zeros((0, 0)))
    assert (none.log == 0).all() and none.breadth == pytest.approx(1 / 12)


def test_intervals_and_forecasts_agree_with_particles() -> None:
    """Two numbers, two intervals, one row to come: a million boards drawn from the same law."""
    draw = np.random.default_rng(3)
    lines = Lines(
        draw.normal(size=(1, 5)), 0.5 * draw.normal(size=(1, 5, 4)), draw.normal(size=(1, 5)), np.zeros((1, 5))
    )
    noise = 0.05 * np.eye(5)
    read, bounds = np.array([0.3, -0.2]), np.array([[-0.5, np.inf], [-1.0, 0.8]])
    known, still = lines.rows(slice(0, 2)), lines.rows(slice(2, 5))
    fitted = fit(known, read, noise[:2, :2])
    kept = conditioned(forecast(known, still, fitted, noise[2:, 2:], np.zeros((3, 2)), 2, 3), fitted, bounds)
    boards = 1_000_000
    true = lines.mean[0] + draw.uniform(-0.5, 0.5, boards)[:, None] * lines.rise[0]
    true = true + draw.normal(size=(boards, 4)) @ lines.loads[0].T
    shown = true + draw.normal(size=(boards, 5)) * np.sqrt(0.05)
    for pattern in range(3):
        right = [k for k in range(2) if k != pattern - 1]
        weight = np.exp(-((true[:, right] - read[right]) ** 2).sum(1) / 0.1)
        first = shown[:, 2] > bounds[0, 0]
        second = (shown[:, 3] > bounds[1, 0]) & (shown[:, 3] < bounds[1, 1])
        assert np.exp(kept.log[0, pattern, 0]) == pytest.approx((weight * first).sum() / weight.sum(), rel=0.03)
        both = weight * first * second
        assert np.exp(kept.log[0, pattern, 1]) == pytest.approx(both.sum() / (weight * first).sum(), rel=0.03)
        mean = (both * shown[:, 4]).sum() / both.sum()
        variance = (both * (shown[:, 4] - mean) ** 2).sum() / both.sum()
        assert kept.forecast.mean[0, pattern, 2] == pytest.approx(mean, abs=0.03)
        assert kept.forecast.variance[0, pattern, 2] == pytest.approx(variance, rel=0.06)


def test_an_interval_left_out_leaves_the_others() -> None:
    lines = Lines(np.zeros((1, 2)), np.ones((1, 2, 1)), np.zeros((1, 2)), np.zeros((1, 2)))
    nothing = lines.rows(slice(0, 0))
    fitted = fit(nothing, np.zeros(0), np.zeros((0, 0)))
    ahead = forecast(nothing, lines, fitted, 0.01 * np.eye(2), np.zeros((2, 0)), 2, 1)
    bounds = np.array([[0.0, np.inf], [-np.inf, 0.0]])
    assert conditioned(ahead, fitted, bounds, skip=0).log[0, 0].tolist() == pytest.approx([0.0, np.log(0.5)])
    together = conditioned(ahead, fitted, bounds).log[0, 0].sum()
    assert together < np.log(0.1), "one variable moves both rows: they cannot lie on both sides of 0"
