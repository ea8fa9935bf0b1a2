"""``.param`` names: set by with_values, and one variable for all parts that hang on one."""

import pytest
from shouldread import expect, load_circuit, solve
from shouldread.circuit import Circuit
from shouldread.errors import CircuitError, UnknownNameError

SHARED = """two resistors of one array
*: [parts]
*: R5 = { tolerance = "0.001 %" }
*: [params]
*: R = { tolerance = "5 %" }
.param R=10k K=2
V1 IN 0 12
R1 IN OUT {R}
R2 OUT 0 {R}
R3 IN X {1e8/R}
R4 X Y {R*K}
R5 Y 0 1k
"""


def test_a_parameter_is_set_and_every_part_follows() -> None:
    changed = load_circuit(SHARED).with_values(R="20k", k=1)
    values = {name: part.value.nominal for name, part in changed.netlist.items() if part.value is not None}
    assert values == pytest.approx({"V1": 12, "R1": 20e3, "R2": 20e3, "R3": 5e3, "R4": 20e3, "R5": 1e3})
    assert changed.part("R1").value.high == pytest.approx(21e3)  # the spread stays


def test_a_part_that_was_given_a_value_keeps_it() -> None:
    circuit = load_circuit(SHARED).with_values(R1="22k")
    assert circuit.with_values(R="5k").part("R1").value.nominal == 22e3
    assert circuit.with_values(R="5k").with_values(K="4").part("R4").value.nominal == pytest.approx(20e3)


def test_an_unknown_name_is_told_with_the_nearest_parameter() -> None:
    with pytest.raises(UnknownNameError, match="RR"):
        load_circuit(SHARED).with_values(RR=3)


def test_parts_of_one_parameter_vary_together() -> None:
    """A divider of two equal resistors that drift alike reads half whatever their tolerance (ohm's law)."""
    alone = load_circuit(SHARED.replace("*: [params]\n", "").replace('*: R = { tolerance = "5 %" }\n', ""))
    together, apart = expect(load_circuit(SHARED))["OUT"].healthy, expect(alone)["OUT"].healthy
    meter = 12 / 2 * 0.005 + 0.002  # accuracy of the default meter at 6 V
    assert together.high - together.low < 2 * meter * 1.2 + 0.01
    assert apart.high - apart.low > 2 * meter * 1.5


def test_a_value_that_falls_as_the_parameter_rises_counts_against_it() -> None:
    """Y = 12 * 1k / (1e8/R + 2R + 1k) stands still where 1e8/R = 2R, at R = 7071: what one adds the other takes."""

    def width(circuit: Circuit) -> float:
        band = expect(circuit)["Y"].healthy
        return band.high - band.low

    together = load_circuit(SHARED).with_values(R="7071.07")
    apart = together.with_values(R3="14142.1 5%", R4="14142.1 5%")
    exact = together.with_values(R3="14142.1 0.0001%", R4="14142.1 0.0001%")
    assert solve(together).volts["Y"] == pytest.approx(12e3 / (2 * 14142.14 + 1e3), rel=1e-4)
    assert width(together) == pytest.approx(width(exact), rel=0.05)
    assert width(apart) > 1.5 * width(exact)


def test_facts_that_are_not_what_they_should_be_are_complaints() -> None:
    with pytest.raises(CircuitError) as told:
        load_circuit(SHARED.replace("R = {", "RR = {").replace("*: [parts]", '*: rest = "some"\n*: [parts]'))
    assert any("rest is" in row for row in str(told.value).split("\n"))
    assert any("no .param 'RR'" in row for row in str(told.value).split("\n"))


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (".param x={1+", "line 4: .param: 'x={1+' is not read; write .param name=value"),
        ("E1 B 0 POLY(1) A 0 1", "line 4: E1: only a linear gain is read"),
        ("E1 B 0 VALUE={1}", "line 4: E1: only a linear gain is read"),
        ("G1 B 0 TABLE {V(A)} = (0,0)", "line 4: G1: only a linear gain is read"),
    ],
)
def test_what_is_not_read_is_told_once(line: str, told: str) -> None:
    with pytest.raises(CircuitError) as caught:
        load_circuit(f"* d\nV1 A 0 5\nR9 A 0 1k\n{line}\nR8 B 0 1k\nR7 A B 1k\n.end\n")
    rows = [row for row in str(caught.value).split("\n") if row.startswith("line")]
    assert len(rows) == 1 and rows[0].startswith(told)
