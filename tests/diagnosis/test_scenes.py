"""The bench as it is: figures that technicians read, and what the kit must make of them (common practice, no source)."""

import pytest
import shouldread as sr
from shouldread.circuit import Circuit
from shouldread.diagnosis import Diagnosis

AUX_FEED = {"L1 open", "RS1 open", "RJ1 open", "VAUX absent"}  # coil, shunt, contact, cable and what feeds it

CONVERTER = """* an enable held up by a resistor, pulled low by a transistor, and a 5 V converter behind it
VIN VIN 0 12
R1 VIN EN 100k
R2 EN 0 15.8k
R3 OFF B 10k
VOFF OFF 0 0
Q1 EN B 0 QN
R6 B 0 47k
X1 VIN EN FB VOUT 0 BUCK
R4 VOUT FB 52.3k
R5 FB 0 10k
RL VOUT 0 50
.model QN NPN(IS=7e-15 BF=180 VAF=80)
"""


def shares(d: Diagnosis, names: set[str]) -> float:
    return sum(s.share for s in d.suspects if s.fault in names)


@pytest.fixture(scope="module")
def two_feeds() -> Circuit:
    """The traced stage: the resistor from B1 to ground cannot be read."""
    return sr.load_circuit("two_feed_enable").with_values(R2="?")


def test_scene_3_a_converter_that_is_not_commanded() -> None:
    """VIN 12.1, EN 0.02, 5V 0.00: the converter itself is not on top; the enable has no feed or is pulled low."""
    d = sr.diagnose(sr.load_circuit(CONVERTER), "VIN 12.1; EN 0.02; VOUT 0.00")
    no_feed = {"R1 open", "R1 drifted high"}
    pulled_low = {"R2 short", "R2 drifted low", "Q1 collector-emitter short", "Q1 leaky"}
    assert not any(f.startswith("X1") for f in d.groups[0].faults)
    assert shares(d, no_feed | pulled_low) > 0.9
    assert set(d.alike) & no_feed and set(d.alike) & pulled_low, "one set until something tells them apart"
    assert d.verdicts["EN"] == "too low" and d.verdicts["VIN"] == "as it should be"
    where = {(p.at, p.setting) for p in d.next_probes}
    assert ("EN", "ohms") in where or ("R1", "ohms") in where or d.next_probe is None


def test_scene_4_a_dead_feed_that_strays(two_feeds: Circuit) -> None:
    d = sr.diagnose(two_feeds, "B1 0.55; FEED 0.58; EN 0.02")
    assert shares(d, AUX_FEED) > 0.95
    assert set(d.alike) == AUX_FEED, "not told apart by these readings"
    assert shares(d, {"R1 open", "R1 drifted high"}) < 0.01, "R1 is not accused on B1 alone"
    assert d.verdicts["FEED"] == "too low"
    assert d.next_probe is not None and (d.next_probe.at, d.next_probe.setting) == ("AUX_S", "volts")
    after = d.also("AUX_S 12.1")
    assert after.suspects[0].fault == "L1 open" and after.suspects[0].share > 0.9
    assert shares(after, AUX_FEED - {"L1 open"}) < 0.01
    agreed = after.also("L1 11.5")
    assert agreed.suspects[0].share > after.suspects[0].share - 1e-3 and not agreed.doubtful


def test_scene_4_the_unreadable_resistor_is_narrowed(two_feeds: Circuit) -> None:
    before = sr.diagnose(two_feeds, "").values["R2"]
    after = sr.diagnose(two_feeds, "B1 0.55; FEED 0.58; EN 0.02").values["R2"]
    assert after.high / after.low < 0.1 * before.high / before.low
    assert after.low > 100e3, "from 12 V's ghost of 0.58 V to 0.55 V through 47 k: R2 is large"


def test_scene_5_the_coil_bridged(two_feeds: Circuit) -> None:
    """Read under a condition: another board with the same fault, no contradiction."""
    d = sr.diagnose(two_feeds, "B1 0.55; FEED 0.58; EN 0.02; AUX_S 12.1")
    d = d.also("FEED 12.1 with L1 bridged; EN 2.30 with L1 bridged")
    assert d.suspects[0].fault == "L1 open" and d.suspects[0].share > 0.95
    assert not d.doubtful and d.none_of_these < 0.01


def test_scene_5_the_coil_bridged_and_nothing_comes(two_feeds: Circuit) -> None:
    """FEED stays below 1 V with the coil bridged: it was not the coil."""
    d = sr.diagnose(two_feeds, "B1 0.55; FEED 0.58; EN 0.02").also("FEED 0.6 with L1 bridged")
    assert shares(d, {"L1 open"}) < 0.01 and shares(d, AUX_FEED) > 0.9


def test_scene_5_bands_with_the_coil_bridged() -> None:
    circuit = sr.load_circuit("two_feed_enable").with_condition("L1 bridged")
    told = sr.expect(circuit)
    assert told["FEED"].healthy.holds(12.1) and told["EN"].healthy.holds(2.19) and told["EN"].healthy.holds(2.42)
    assert told["FEED"].under("L1 open").holds(12.1)
    assert sr.expect(sr.load_circuit("two_feed_enable"))["FEED"].under("L1 open").typical < 1.0


def test_scene_5_the_coil_itself_cold() -> None:
    ohms = sr.expect(sr.load_circuit("two_feed_enable"), setting="ohms")["L1"]
    assert ohms.healthy.high < 0.6
    assert ohms.under("L1 open").low > 10e3


def test_scene_6_a_base_that_conducts_but_is_too_weak() -> None:
    """B1 0.60 alone says only that a junction conducts; with X at 1.54 V, R1 has drifted to about four times."""
    circuit = sr.load_circuit("two_supply_and")
    alone = sr.diagnose(circuit, "B1 0.60")
    assert alone.verdicts["B1"] == "cannot tell"
    assert alone.groups[0].share < 0.5 and "Cannot tell yet" in str(alone)
    d = alone.also("X 1.54")
    assert d.verdicts["X"] == "too high"
    assert d.suspects[0].fault == "R1 drifted high" and "R1 drifted high" in d.alike
    assert d.values["R1"].median == pytest.approx(4 * 47e3, rel=0.1)
    assert d.next_probe is not None and (d.next_probe.at, d.next_probe.setting, d.next_probe.state) == (
        "R1",
        "ohms",
        "cold",
    )
    found = d.also("R1 ohms 188k")
    assert found.suspects[0].share > 0.95 and found.next_probe is None and found.stop_reason


def test_scene_8_a_short_among_many_capacitors_names_none_of_them() -> None:
    """3V3 1.2 Ω (good 340): one group; C17 hot puts C17 first; the bead lifted, the short is on the load's side."""
    caps = "".join(f"C{k} 3V3 0 100n\n" for k in range(1, 21))
    circuit = sr.load_circuit(
        f"* rail\nV1 IN 0 3.3\nRB1 IN 3V3 50m\nRL 3V3 0 340\n{caps}*: [parts]\n*: RB1 = {{ detail = 'bead' }}\n"
    )
    d = sr.diagnose(circuit, "3V3 ohms 1.2", healthy=0.1)
    lead = d.groups[0]
    assert len(lead.faults) >= 20 and "lift" in lead.split_by
    assert len({round(s.share, 6) for s in d.suspects if s.fault.startswith("C") and s.fault in lead.faults}) == 1
    hot = d.also("C17 hot")
    assert hot.suspects[0].fault.startswith("C17")
    gone = hot.also("3V3 ohms 340 with C17 removed")
    assert gone.suspects[0].fault.startswith("C17") and gone.suspects[0].share > 0.9


def test_scene_10_volts_cannot_show_an_open_bleeder() -> None:
    """R2 open in the single inverter: all volts are right; the base to ground, cold, on a low-volt range tells."""
    circuit = sr.load_circuit("npn_inverter_enable")
    d = sr.diagnose(circuit, "B 0.68 @in high; EN 0.013 @in high; IN 3.3 @in high; EN 3.27 @in low")
    assert d.healthy > d.suspects[0].share
    cold = sr.expect(circuit, setting="ohms")["B"]
    assert cold.healthy.holds(47e3) and cold.under("R2 open").low > 10e6
    told = d.also("B ohms OL") if cold.under("R2 open").high == float("inf") else d.also("B ohms 40M")
    assert told.suspects[0].fault == "R2 open"
    high = sr.expect(circuit, setting="ohms", meter="cheap")["B"].healthy
    assert high.high < 40e3, "a meter that turns the junction on reads it, not the resistor"


def test_what_a_drift_elsewhere_may_end_in_leaves_no_impossible_band() -> None:
    """A drift of the 5 V coil so far that its converter never comes to rest says nothing of the 12 V rail beside it."""
    under = sr.expect(sr.load_circuit("controller_card"))["12V_AUX"].under("L3 drifted high")
    assert 10.5 < under.low < under.typical < under.high < 13.5
