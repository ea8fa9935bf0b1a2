"""Which faults a board offers: every part in order, what its values allow, ICs by effect and joint."""

import pytest
import shouldread as sr
from shouldread.errors import RequestError
from shouldread.faults import single_faults

from tests.faults.boards import CARD, card

NAMES = card().faults


def of(part: str) -> list[str]:
    return [name.removeprefix(f"{part} ") for name in NAMES if name.startswith(f"{part} ")]


def test_parts_come_in_the_order_of_the_file() -> None:
    seen = dict.fromkeys(name.split(" ")[0].split(".")[0] for name in NAMES)
    assert list(seen) == list(card().parts)


def test_each_name_once() -> None:
    assert len(set(NAMES)) == len(NAMES)


def test_a_fuse_fails_as_a_fuse() -> None:
    """Variety picks the ways: a fuse does not short and does not drift down."""
    assert of("RF1") == ["open", "drifted high"]
    assert of("R1") == ["open", "short", "drifted high", "drifted low"]


def test_an_unreadable_value_does_not_drift() -> None:
    assert of("R6") == ["open", "short"]


def test_a_coil_drifts_only_in_a_winding_that_is_known() -> None:
    assert of("L1") == ["open", "short"]
    known = sr.load_circuit(CARD + '*: L1 = { dcr = "30m" }\n')
    assert "L1 drifted high" in known.faults


def test_a_source_of_nothing_is_not_low() -> None:
    assert sr.load_circuit("* low\nV1 A 0 0\nR1 A 0 1k\n").faults[:2] == ("V1 absent", "R1 open")


def test_an_ic_fails_by_effect_at_its_joints_and_to_its_neighbours() -> None:
    effects = [effect.name for effect in card().part("X1").block.effects]  # type: ignore[union-attr]
    joints = [f"X1.{pin} joint open" for pin in ("IN", "EN", "FB", "OUT", "GND")]
    found = [name for name in NAMES if name.startswith("X1")]
    assert found == [*(f"X1 {effect}" for effect in effects), *joints, "X1.IN-X1.EN bridged"]
    assert not any("M1" in name for name in found)


def test_two_pins_have_no_joints_of_their_own() -> None:
    """Joints and lead of a two-pin part are one hypothesis; transistors' opens are their joints."""
    assert not any("joint" in name for name in NAMES if not name.startswith("X1"))


def test_neighbours_that_are_no_pins_are_refused() -> None:
    wrong = sr.load_circuit(CARD.replace("IN-EN", "IN-ENABLE"))
    with pytest.raises(RequestError, match=r"neighbours of X1: 'IN-ENABLE' names no two pins of it"):
        single_faults(wrong.netlist.values())


def test_places_that_could_bridge_are_given_by_the_board() -> None:
    extra = single_faults(card().netlist.values(), [("RAIL", "OUT"), ("R1.1", "C1.1")])[-2:]
    assert [str(fault) for fault in extra] == ["RAIL-OUT bridged", "R1.1-C1.1 bridged"]
    assert [fault.parts for fault in extra] == [(), ("R1", "C1")]


def test_weights_are_positive_and_sourced() -> None:
    missing = [f.name for f in card().single_faults if not (f.prior > 0 and f.source)]
    assert not missing, missing


def test_a_fuse_outweighs_a_resistor_and_a_short_outweighs_an_open_capacitor() -> None:
    """What the bench sees most: common practice, no source."""
    prior = {fault.name: fault.prior for fault in card().single_faults}
    assert prior["RF1 open"] > prior["R1 open"] > prior["R1 short"]
    assert prior["C1 short"] > prior["C1 open"]
    assert prior["M1 drain-source short"] > prior["M1 drain open"]
