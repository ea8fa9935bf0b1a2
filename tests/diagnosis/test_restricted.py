"""A normal law within limits agrees with the general statistics library (scipy.stats), far tails included."""

import numpy as np
import pytest
from scipy import integrate, stats
from shouldread.diagnosis.restricted import log_share, ramp_share, tilted, within

LIMITS = [(-1.0, 1.0), (0.5, 0.7), (-np.inf, -2.0), (3.0, np.inf), (5.0, 6.0), (-9.0, 9.0), (12.0, 13.0)]


@pytest.mark.parametrize("low, high", LIMITS)
def test_mean_and_variance_are_those_of_the_truncated_normal(low: float, high: float) -> None:
    _, mean, variance = within(np.zeros(1), np.ones(1), low, high)
    known = stats.truncnorm(low, high)
    assert mean[0] == pytest.approx(known.mean(), abs=1e-5)
    assert variance[0] == pytest.approx(known.var(), rel=2e-3, abs=1e-6)


@pytest.mark.parametrize("low, high", LIMITS)
def test_log_share_holds_in_far_tails(low: float, high: float) -> None:
    side = stats.norm.sf if low > 0 else stats.norm.cdf
    ends = sorted((side(low), side(high)))
    assert log_share(np.array([low]), np.array([high]))[0] == pytest.approx(np.log(ends[1] - ends[0]), rel=1e-9)


def test_what_is_certain_changes_nothing_at_all() -> None:
    """An interval that holds everything the law could show leaves mean, variance and belief as they are, exactly."""
    log_p, mean, variance = within(np.array([3.3]), np.array([0.04]), -1000.0, np.inf)
    assert (log_p[0], mean[0], variance[0]) == (0.0, 3.3, 0.04)


@pytest.mark.parametrize(
    "slope, bend", [(0.0, 0.0), (3.0, 0.0), (-400.0, 0.0), (2.0, 50.0), (900.0, 30.0), (0.0, 1e6)]
)
def test_tilted_agrees_with_adaptive_quadrature(slope: float, bend: float) -> None:
    peak = min(max(slope / bend if bend else np.sign(slope), -0.5), 0.5)
    top = slope * peak - bend * peak * peak / 2

    def law(z: float, power: int) -> float:
        return float(z**power * np.exp(slope * z - bend * z * z / 2 - top))

    whole, first, second = (
        integrate.quad(law, -0.5, 0.5, args=(k,), points=[peak], limit=400, epsabs=1e-13)[0] for k in range(3)
    )
    log_total, mean, variance = tilted(np.array([slope]), np.array([bend]), np.array([-0.5]), np.array([0.5]))
    assert log_total[0] == pytest.approx(np.log(whole) + top, abs=1e-5)
    assert mean[0] == pytest.approx(first / whole, abs=1e-5)
    assert variance[0] == pytest.approx(second / whole - (first / whole) ** 2, rel=1e-3, abs=1e-9)


def test_an_even_stretch_with_noise_is_the_convolution_of_both() -> None:
    """Uniform plus normal: the share below a limit, against numerical integration."""
    for rise, limit in ((0.0, 0.3), (2.0, 0.4), (5.0, -3.0)):
        known = integrate.quad(lambda u, r=rise, b=limit: stats.norm.cdf(b, loc=1.0 + r * u, scale=0.5), -0.5, 0.5)[0]
        share = ramp_share(np.array([1.0]), np.array([0.25]), np.array([rise]), -np.inf, limit)
        assert share[0] == pytest.approx(known, abs=1e-9)
