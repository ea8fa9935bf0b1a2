"""What lanes rely on to be solved side by side: the exponential that vectorises, and laws that are the same in a row."""

import math
import random

import numpy as np
import pytest
import shouldread as sr
from shouldread.parts.laws.bipolar import bipolar
from shouldread.parts.laws.exponential import exp
from shouldread.parts.laws.fieldeffect import bulk, channel
from shouldread.parts.laws.junction import GMIN, VT, diode, exponential
from shouldread.solve import Network
from shouldread.solve.devices import AS_IS
from shouldread.solve.lane_block import new_block
from shouldread.solve.lane_devices import enter_devices
from shouldread.solve.lane_laws import enter_numbers
from shouldread.solve.lane_stamps import enter_fixed

from tests.benchmarks.engine.boards import ladder


def test_a_bulk_junction_has_no_jump() -> None:
    """The ideal diode law (Shockley 1949, Bell Syst. Tech. J. 28:435), which ngspice cuts off at 3 thermal volts.

    A search cannot come to rest on a jump: with the cut a cold board with a P channel had no reading at some nodes.
    """
    saturation = 1e-14
    for z in np.linspace(-60.0, 20.0, 801):
        amps, slope = bulk(z * VT, saturation)
        assert amps - GMIN * z * VT == pytest.approx(saturation * math.expm1(z), rel=1e-9, abs=1e-26), z
        assert slope - GMIN == pytest.approx(saturation * math.exp(z) / VT, rel=1e-3, abs=1e-24), z


def test_exponential_against_the_library_of_c() -> None:
    draw = random.Random(7)
    powers = [draw.uniform(-700.0, 700.0) for _ in range(20000)] + [k * math.log(2.0) / 2 for k in range(-2000, 2000)]
    for z in [0.0, -700.0, 700.0, 1e-300, -1e-17, *powers]:
        if abs(z) <= 700.0:
            assert abs(exp(z) - math.exp(z)) <= 1.5 * math.ulp(math.exp(z)), z


@pytest.mark.parametrize("z", [-1e4, -40.0, -3.0, -2.9, -0.1, 0.0, 0.3, 12.0, 250.0])
def test_a_junction_as_spice_has_it(z: float) -> None:
    """ngspice, diotemp.c and dioload.c: e to the power less 1; below -3 a cubic; the slope is that of the current."""
    rise, slope = exponential(z)
    wanted = math.exp(z) - 1.0 if z >= -3.0 else -1.0 - (3.0 / (z * math.e)) ** 3
    assert rise == pytest.approx(wanted, rel=1e-12, abs=1e-15)
    step = 1e-6 * max(1.0, abs(z))
    if z not in (-3.0, 250.0):
        by_difference = (exponential(z + step)[0] - exponential(z - step)[0]) / (2.0 * step)
        assert slope == pytest.approx(by_difference, rel=1e-5, abs=1e-9)


def test_beyond_what_a_number_holds_a_junction_goes_on_in_a_straight_line() -> None:
    rise, slope = exponential(250.0)
    further, same = exponential(1e6)
    assert same == slope and further == pytest.approx(rise + (1e6 - 250.0) * slope, rel=1e-12)


def test_a_diode_breaks_down_where_its_exponential_starts() -> None:
    saturation, nvt, at = 1e-14, 0.025, 5.1
    current, g = diode(-at - 4.0 * nvt, saturation, nvt, at, nvt)
    assert current == pytest.approx(-saturation * math.exp(4.0) - GMIN * (at + 0.1), rel=1e-12)
    assert g == pytest.approx(saturation * math.exp(4.0) / nvt + GMIN, rel=1e-12)
    assert diode(-1.0, saturation, nvt, at, nvt)[0] == pytest.approx(-saturation - GMIN, rel=1e-3)


DEVICES = """every device
V1 IN 0 9
R1 IN A 1k
D1 0 A DZ
R2 IN C 2k
Q1 C B E QX
R3 A B 10k
R4 E 0 100
R5 IN D 3k
M1 D G S U MX
R6 A G 1k
R7 S 0 50
R8 U 0 10
.model DZ D(IS=1e-14 BV=4.7 IBV=1m)
.model QX NPN(IS=1e-15 BF=120 VAF=60 VAR=15 IKF=0.05 ISE=1e-13 ISC=1e-13)
.model MX NMOS(VTO=1 KP=2m LAMBDA=0.02 GAMMA=0.4 PHI=0.7)
"""


@pytest.mark.parametrize("turned", [False, True])
def test_rows_of_lanes_give_what_each_device_alone_does(turned: bool) -> None:
    """Amps that leave each node, of 13 lanes at random volts, against the law of each device by itself."""
    network = Network(sr.load_circuit(DEVICES))
    net, draw, lanes = network.net, np.random.default_rng(3), 13
    slots = np.tile(net.slots, (lanes, 1)) * draw.normal(1, 0.01, (lanes, len(net.slots)))
    bits = np.zeros((lanes, 0), np.int64)
    b = new_block(net.arrays, net.plan, lanes)
    b.x[: net.size] = network.start.x[:, None] + draw.uniform(-0.3, 0.3, (net.size, lanes))
    b.x[0] = 0.0
    d, s = network.node("M1.d"), network.node("M1.s")
    b.x[d if turned else s] = b.x[s if turned else d] - 1.0
    enter_numbers(b, slots, net.arrays)
    enter_fixed(b, slots, bits, net.arrays, net.plan, True)
    b.A[:], b.f[:] = 0.0, 0.0
    enter_devices(b, slots, net.arrays, net.plan, AS_IS)
    for i in range(lanes):
        wanted = _amps(b.x[:, i], slots, i, net, float(b.bv[0, i]))
        for node in range(1, net.size):
            row = net.plan.row[node]
            if row == node:
                assert b.f[row, i] == pytest.approx(wanted[node], rel=1e-9, abs=1e-15), net.names[node]


def _amps(x: np.ndarray, slots: np.ndarray, i: int, net, breakdown: float) -> np.ndarray:  # type: ignore[no-untyped-def]
    """Amps that diode, bipolar and channel draw from each node, one by one."""
    vt, out = 1.38064852e-23 * 300.15 / 1.6021766208e-19, np.zeros(net.size)
    p, q, o = net.diodes[0]
    current = diode(x[p] - x[q], slots[i, o] * slots[i, o + 5], vt * slots[i, o + 1], breakdown, vt * slots[i, o + 4])[
        0
    ]
    out[p] += current
    out[q] -= current
    c, q, e, _, o = net.bipolars[0]
    ic, ib = bipolar(x[q] - x[e], x[q] - x[c], slots, i, o)[:2]
    for node, amps in ((c, ic), (q, ib), (e, -ic - ib)):
        out[node] += amps
    d, g, s, u, _, o = net.fields[0]
    low, high = (d, s) if x[d] < x[s] else (s, d)
    current = channel(x[g] - x[low], x[high] - x[low], x[u] - x[low], slots, i, o, 1.0)[0]
    out[high] += current
    out[low] -= current
    for end in (s, d):
        current = bulk(x[u] - x[end], slots[i, o + 5] * slots[i, o + 8])[0]
        out[u] += current
        out[end] -= current
    return out


def test_lanes_do_not_depend_on_how_many_are_solved_together() -> None:
    """A lane has the same digits alone, in a block that vector instructions fill, and in one that they do not."""
    network = Network(sr.load_circuit(ladder(20)))
    values = network.nominal * np.random.default_rng(5).normal(1, 0.01, (71, len(network.nominal)))
    together = network.solve(values).raw
    for some in ([0], [1, 2, 3], list(range(40, 57)), list(range(64, 71))):
        assert np.allclose(network.solve(values[some]).raw, together[some], rtol=1e-12, atol=1e-12)
