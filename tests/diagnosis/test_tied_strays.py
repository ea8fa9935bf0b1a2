"""Unseen paths at several nodes that a shunt ties: shares as drawing those paths by the ten thousand gives them.

The circuit is reckoned here by hand (nodal analysis: two nodes, Cramer's rule), not by the kit's solver.
"""

import numpy as np
import pytest
import shouldread as sr
from numpy.typing import NDArray
from scipy.special import logsumexp

Array = NDArray[np.float64]
FILTER = """* a coil and a shunt into a divider, on a board that nobody traced further
*: rest = "unknown"
V12 IN 0 12
L1 IN A 10u
R1 A B 0.1
R2 B C 100k
R3 C 0 47k
"""
DRAWS, METER = 60_000, 1 / 10e6


def log_likelihood(read: tuple[float, float], nodes_before_r2: int) -> float:
    """Log density of volts at B and C when the feed is open above so many nodes that stand as one before R2."""
    draw = np.random.default_rng(11)

    def paths(low: float, high: float, many: int) -> Array:
        return np.asarray((1 / np.exp(draw.uniform(np.log(low), np.log(high), (many, DRAWS)))).sum(0))

    down_b, up_b = paths(100e3, 10e6, nodes_before_r2), paths(300e3, 1e9, nodes_before_r2)
    down_c, up_c = paths(100e3, 10e6, 1), paths(300e3, 1e9, 1)
    g2 = 1 / (100e3 * np.exp(0.005 * draw.standard_normal(DRAWS)))
    g3 = 1 / (47e3 * np.exp(0.005 * draw.standard_normal(DRAWS)))

    def solved(meter_b: float, meter_c: float) -> tuple[Array, Array]:
        b, c = down_b + up_b + g2 + meter_b, down_c + up_c + g2 + g3 + meter_c
        both = b * c - g2 * g2
        return 12 * (up_b * c + g2 * up_c) / both, 12 * (up_c * b + g2 * up_b) / both

    at = solved(METER, 0.0)[0], solved(0.0, METER)[1]
    log = np.zeros(DRAWS)
    for volts, shown in zip(at, read, strict=True):
        sigma = np.hypot(0.004, 0.0025 * volts)
        log += -0.5 * ((shown - volts) / sigma) ** 2 - np.log(sigma * np.sqrt(2 * np.pi))
    return float(logsumexp(log) - np.log(DRAWS))


@pytest.mark.parametrize("read", [(0.5, 0.16), (0.9, 0.3)])
def test_coil_and_shunt_are_told_apart_no_better_than_they_can_be(read: tuple[float, float]) -> None:
    """L1 open leaves A and B as one, R1 open B alone: their shares differ by what the paths of A may do."""
    found = sr.diagnose(sr.load_circuit(FILTER), f"B {read[0]}; C {read[1]}")
    share = {s.fault: s.share for s in found.suspects}
    prior = {str(f): f.prior for f in found.circuit.single_faults}
    said = np.log(share["L1 open"] / share["R1 open"]) - np.log(prior["L1 open"] / prior["R1 open"])
    drawn = log_likelihood(read, 2) - log_likelihood(read, 1)
    assert said == pytest.approx(drawn, abs=0.35)
