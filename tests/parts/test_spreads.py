"""How far a number may lie: typed tolerances first, else the trade's defaults."""

import math
from pathlib import Path

import pytest
from shouldread.parts import KINDS, THERMAL_VOLTS, Block, Model, Part, model_value, number_of, spreads_of
from shouldread.quantities import Spread

R = Part("R1", "R", ("A", "B"), Spread.exact(4700.0))
NPN = Model("QN", "NPN", {"IS": 7e-15, "BF": 180.0})


def test_the_thermal_voltage() -> None:
    """kT/q at 27 °C is 25.8649 mV: CODATA 2018 k and q, NIST SP 330."""
    assert pytest.approx(25.8649e-3, rel=1e-5) == THERMAL_VOLTS


def test_a_plain_resistor_is_five_percent() -> None:
    assert spreads_of(R) == (("value", Spread.normal(4700.0, 0.05)),)


@pytest.mark.parametrize(("detail", "fraction"), [("shunt", 0.01), ("fuse", 0.3), ("inside", 0.3)])
def test_a_variety_has_its_own(detail: str, fraction: float) -> None:
    part = Part("R1", "R", ("A", "B"), Spread.exact(0.01), facts={"detail": detail})
    assert dict(spreads_of(part))["value"] == Spread.normal(0.01, fraction)


def test_what_was_typed_wins() -> None:
    """A typed tolerance keeps its hard limits, a typed range its width; zero percent varies nothing."""
    for typed in (Spread.uniform(4700.0, 0.01), Spread.between(1e3, 1e5)):
        part = Part("R1", "R", ("A", "B"), typed)
        assert spreads_of(part) == (("value", typed),)
    assert spreads_of(Part("R1", "R", ("A", "B"), Spread.uniform(4700.0, 0.0))) == ()


def test_sources_and_gains_are_exact() -> None:
    for kind, nodes in (("V", "AB"), ("I", "AB"), ("E", "ABCD"), ("G", "ABCD")):
        assert spreads_of(Part(f"{kind}1", kind, tuple(nodes), Spread.exact(12.0))) == ()


def test_a_transistor_varies_in_beta_and_junction_volts() -> None:
    """Beta by 1.6 either way; 20 mV of junction are a factor exp(20 mV / 25.86 mV) = 2.167 on IS; reverse beta by 2 %."""
    found = dict(spreads_of(Part("Q1", "Q", ("C", "B", "E"), model=NPN)))
    assert set(found) == {"IS", "BF", "BR"}
    assert found["BR"].high / found["BR"].nominal == pytest.approx(1.02)
    assert (found["BF"].low, found["BF"].high) == (pytest.approx(112.5), pytest.approx(288.0))
    assert found["IS"].high / found["IS"].nominal == pytest.approx(2.167, rel=1e-3)
    assert found["IS"].nominal / found["IS"].low == pytest.approx(2.167, rel=1e-3)


def test_emission_counts_in_junction_volts() -> None:
    """The same 20 mV are a smaller factor where the slope is flatter: exp(20 mV / (N kT/q))."""
    diode = Part("D1", "D", ("A", "0"), model=Model("DX", "D", {"IS": 1e-9, "N": 2.0}))
    spread = dict(spreads_of(diode))["IS"]
    assert spread.high / spread.nominal == pytest.approx(math.exp(0.02 / (2 * THERMAL_VOLTS)))


def test_no_breakdown_no_spread_of_it() -> None:
    zener = {"detail": "zener"}
    bare = Part("D1", "D", ("A", "0"), model=Model("DZ", "D", {"IS": 1e-14}), facts=zener)
    assert "BV" not in dict(spreads_of(bare))
    real = Part("D1", "D", ("A", "0"), model=Model("DZ", "D", {"IS": 1e-14, "BV": 5.1}), facts=zener)
    assert dict(spreads_of(real))["BV"] == Spread.normal(5.1, 0.05)


def test_a_coil_varies_only_in_a_winding_that_is_known() -> None:
    """Inductance moves no direct voltage, but it is a number with a spread; 0 Ω has nothing to vary."""
    assert "dcr" not in dict(spreads_of(Part("L1", "L", ("A", "B"), Spread.exact(1e-5))))
    known = Part("L1", "L", ("A", "B"), Spread.exact(1e-5), facts={"dcr": Spread.exact(0.03)})
    assert dict(spreads_of(known))["dcr"] == Spread.normal(0.03, 0.2)


def test_a_block_varies_as_its_file_says_around_what_its_line_sets() -> None:
    block = Block("REG", ("IN", "OUT"), spreads={"vref": Spread.uniform(0.8, 0.015)})
    assert spreads_of(Part("X1", "X", ("A", "B"), block=block)) == (("vref", Spread.uniform(0.8, 0.015)),)
    told = Part("X1", "X", ("A", "B"), block=block, settings={"vref": 0.6})
    assert dict(spreads_of(told))["vref"].nominal == 0.6


def test_numbers_are_found_where_they_stand() -> None:
    """Value, fact, line, model, default: in that order; what a part has not is None."""
    mosfet = Part("M1", "M", tuple("DGSB"), model=Model("MN", "NMOS", {"VTO": 1.6}), settings={"W": 2.0})
    found = [number_of(mosfet, what) for what in ("W", "L", "VTO", "KP", "value", "nothing")]
    assert [n.nominal if n else None for n in found] == [2.0, 1e-4, 1.6, 2e-5, None, None]


def test_an_unwritten_breakdown_slope_is_the_forward_one() -> None:
    assert model_value(KINDS["D"], Model("DZ", "D", {"N": 2.0}), "NBV") == 2.0
    assert model_value(KINDS["D"], Model("DZ", "D", {"N": 2.0, "NBV": 1.5}), "NBV") == 1.5


def test_the_default_spreads_are_where_a_shop_can_edit_them() -> None:
    """The two tables stand beside the code as plain files."""
    folder = Path(__file__).resolve().parents[2] / "kit/shouldread/parts"
    assert {p.name for p in folder.glob("*.toml")} == {"failure_modes.toml", "spreads.toml"}
