"""What each fault does to a circuit, checked by Ohm's law on the circuit it leaves."""

import math
from dataclasses import replace

import pytest
import shouldread as sr
from shouldread.errors import RequestError
from shouldread.faults import fault_edits
from shouldread.parts import Bridge, Change, Effect, Lift, Part, Remove, Scale

from tests.faults.boards import card

DIVIDER = sr.load_circuit("* divider\nV1 A 0 10\nR1 A B 1k\nR2 B 0 1k\nC1 B 0 1u\nL1 B C 10u\nR3 C 0 1Meg\n")
SWITCH = sr.load_circuit(
    "* switch\nV1 A 0 10\nR1 A D 1k\nM1 D G 0 0 MN\nR2 A G 10k\nR3 G 0 10k\n.model MN NMOS(VTO=1 KP=0.5)\n"
)


def volts(fault: str, node: str = "B") -> float:
    return sr.solve(DIVIDER, fault=fault).volts[node]


@pytest.mark.parametrize(
    ("fault", "at_b"),
    [
        ("R1 open", 0.0),
        ("R2 open", 10 * 1e6 / (1e6 + 1e3)),
        ("R1 drifted x3", 10 / (1 + 3 * 1.001)),
        ("R1 drifted x0.5", 10 / (1 + 0.5 * 1.001)),
        ("C1 leaky 1k", 10 / (1 + 1 * (1 + 1 + 1e-3))),
        ("C1 open", 10 / (1 + 1.001)),
        ("C1 drifted high", 10 / (1 + 1.001)),
        ("V1 low x0.6", 6 / (1 + 1.001)),
        ("V1 absent", 0.0),
    ],
)
def test_volts_after_a_fault(fault: str, at_b: float) -> None:
    """10 V over 1 k and 1 k with 1 M in parallel: each fault worked from the divider rule."""
    assert volts(fault) == pytest.approx(at_b, rel=1e-9, abs=1e-9)


def test_a_short_is_ten_milliohms() -> None:
    """Contract: short = 10 mΩ across."""
    r2 = 1 / (1 / 0.01 + 1 / 1e3 + 1 / 1e6)
    assert volts("R2 short") == pytest.approx(10 * r2 / (r2 + 1e3), rel=1e-9)
    assert volts("C1 short") == pytest.approx(volts("R2 short"), rel=1e-12)


def test_an_open_pin_hangs_on_a_node_of_its_own() -> None:
    assert fault_edits(DIVIDER.fault("R1 open")[0], DIVIDER.netlist.values()) == (Lift("R1", "1"),)
    assert sr.solve(DIVIDER, fault="L1 open").volts["C"] == pytest.approx(0.0, abs=1e-9)


def test_without_a_severity_the_median_is_taken() -> None:
    (fault,) = DIVIDER.fault("C1 leaky")
    assert fault.severity_range is not None
    (bridge,) = fault_edits(fault, DIVIDER.netlist.values())
    assert isinstance(bridge, Bridge) and bridge.ohms == fault.severity_range.median
    assert fault.severity_range.median == pytest.approx(math.sqrt(10 * 1e6))
    (said,) = fault_edits(fault.with_severity(50.0), DIVIDER.netlist.values())
    (asked,) = fault_edits(fault.with_severity(50.0), DIVIDER.netlist.values(), severity=70.0)
    assert isinstance(said, Bridge) and isinstance(asked, Bridge) and (said.ohms, asked.ohms) == (50.0, 70.0)


def test_drift_of_one_is_healthy_and_extremes_are_open_and_short() -> None:
    """The laws that join the ways to fail: x1 changes nothing, x1e12 is open, a leak of 10 mΩ is a short."""
    healthy = sr.solve(DIVIDER).volts["B"]
    assert volts("R1 drifted x1") == pytest.approx(healthy, rel=1e-12)
    assert volts("R1 drifted x1e12") == pytest.approx(volts("R1 open"), abs=1e-6)
    assert volts("C1 leaky 10m") == pytest.approx(volts("C1 short"), rel=1e-12)
    assert volts("C1 leaky 1e12") == pytest.approx(healthy, rel=1e-6)


def test_a_short_carries_the_parts_amps() -> None:
    """A short's current counts in the part's amps (contract 4); an open part's are exactly zero."""
    assert sr.solve(DIVIDER, fault="C1 short").amps["C1"] == pytest.approx(10 / 1000.01, rel=1e-4)
    assert sr.solve(DIVIDER, fault="R1 open").amps["R1"] == 0.0


def test_a_source_pin_leaves_with_its_bulk() -> None:
    """Source and body leave their pad together: no current finds its way through the body diode."""
    opened = sr.solve(SWITCH, fault="M1 source open")
    assert opened.volts["D"] == pytest.approx(10.0, abs=1e-6)
    assert opened.amps["R1"] == pytest.approx(0.0, abs=1e-8)
    apart = sr.load_circuit(SWITCH.text.replace("M1 D G 0 0 MN", "M1 D G S S2 MN\nRS S 0 1\nRB S2 0 1"))
    lifts = [e for e in fault_edits(apart.fault("M1 source open")[0], apart.netlist.values()) if isinstance(e, Lift)]
    assert lifts == [Lift("M1", "s")]


def test_a_pair_is_both_faults() -> None:
    pair = DIVIDER.fault("R1 drifted x3 + C1 leaky 1k")[0]
    edits = fault_edits(pair, DIVIDER.netlist.values())
    assert edits == (Scale("R1", "value", 3.0), Bridge("C1.1", "C1.2", 1e3, "C1 leaky", "C1"))
    assert pair.prior == min(member.prior for member in pair.members)


def test_an_effect_reaches_the_inside_of_its_ic() -> None:
    """Regulator on 12 V: no output, input to output, reference 10 % off (Vout = Vref (1 + R1/R2))."""
    board = card().with_values(R6="10k").with_condition("M1 removed and D1 removed")
    healthy = sr.solve(board).volts["OUT"]
    assert healthy == pytest.approx(0.8 * 4.16, rel=0.01)
    assert sr.solve(board, fault="X1 no output").volts["OUT"] < 0.1
    assert sr.solve(board, fault="X1 input to output short").volts["OUT"] > 11
    assert sr.solve(board, fault="X1 out of tolerance x1.1").volts["OUT"] == pytest.approx(1.1 * healthy, rel=5e-3)
    assert sr.solve(board, fault="X1.EN joint open").volts["OUT"] < 0.1


def test_effect_rows_become_edits() -> None:
    """Each verb of a model file, and the one that is none."""
    from_file = card().part("X1")
    assert from_file.block is not None
    rows = {
        ("lift", "M1", "g"): Lift("X1.M1", "g"),
        ("lift", "OUT"): Lift("X1", "OUT"),
        ("remove", "S1"): Remove("X1.S1"),
        ("bridge", "IN", "g", 0.05): Bridge("X1.IN", "X1.g", 0.05, "X1 odd", "X1"),
        ("bridge", "IN", "g", "4k"): Bridge("X1.IN", "X1.g", 4e3, "X1 odd", "X1"),
        ("set", "Vr", "value", "x1.1"): Scale("X1.Vr", "value", 1.1),
        ("set", "Vr", "value", 0.9): Change("X1.Vr", "value", 0.9),
    }
    for row, edit in rows.items():
        assert odd(from_file, row) == (edit,)
    with pytest.raises(RequestError, match="X1 odd: no such edit 'cut'; write lift, bridge, set or remove"):
        odd(from_file, ("cut", "S1"))


def odd(part: Part, row: tuple[object, ...]) -> tuple[object, ...]:
    assert part.block is not None
    block = replace(part.block, effects=(Effect("odd", (row,), 1.0),))
    changed = replace(part, block=block)
    fault = next(f for f in sr.load_circuit(card()).single_faults if f.parts == ("X1",))
    return fault_edits(replace(fault, mode="odd", name="X1 odd", severity_range=None), [changed])
