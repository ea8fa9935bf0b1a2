"""What a diagnosis promises, whatever the circuit: laws of inference that a technician relies on."""

import itertools

import pytest
import shouldread as sr

AND_STAGE = """* two NPN: an enable that needs 12 V and 3.3 V
V12 V12 0 12
V3 V3 0 3.3
R1 V12 B1 47k
R2 B1 0 10k
Q1 X B1 0 QN
R3 V3 X 10k
R4 X B2 10k
R5 B2 0 47k
Q2 EN B2 0 QN
R6 V3 EN 10k
RL EN 0 1Meg
.model QN NPN(IS=7e-15 BF=180 VAF=80 BR=4 RC=0.8 RB=10 IKF=0.08 NE=1.5 ISE=1e-14)
*: [states]
*: run = {}
*: no_12V = { V12 = "absent" }
"""


@pytest.fixture(scope="module")
def stage() -> object:
    return sr.load_circuit(AND_STAGE)


def shares(d: object) -> dict[str, float]:
    return {s.fault: s.share for s in d.suspects} | {"healthy": d.healthy, "none": d.none_of_these}


def test_shares_sum_to_one_and_groups_partition(stage: object) -> None:
    for text in ("", "EN 0.02", "EN 0.02; B1 0.60; X 1.54", "B1 0.67; X 0.015; EN 3.27", "X ohms 9.1k"):
        d = sr.diagnose(stage, text)
        assert sum(shares(d).values()) == pytest.approx(1, abs=1e-9)
        named = [f for g in d.groups for f in g.faults]
        assert sorted(named) == sorted(s.fault for s in d.suspects)
        assert all(a.share >= b.share for a, b in itertools.pairwise(d.suspects))
        assert all(a.share >= b.share for a, b in itertools.pairwise(d.groups))


def test_no_reading_gives_the_priors(stage: object) -> None:
    d = sr.diagnose(stage, "")
    assert d.healthy == pytest.approx(0.5) and d.none_of_these == pytest.approx(0.03)


def test_a_reading_that_says_nothing_changes_no_share(stage: object) -> None:
    a, b = shares(sr.diagnose(stage, "EN 0.02")), shares(sr.diagnose(stage, "EN 0.02; X > -1000 V"))
    assert all(abs(a[k] - b[k]) < 1e-9 for k in a)


def test_order_and_one_by_one_do_not_matter(stage: object) -> None:
    lines = ["EN 0.02", "B1 0.60", "X 1.54", "B2 0.655"]
    whole = shares(sr.diagnose(stage, "; ".join(lines)))
    for order in ([3, 1, 0, 2], [2, 3, 1, 0]):
        other = shares(sr.diagnose(stage, "; ".join(lines[i] for i in order)))
        assert all(abs(whole[k] - other[k]) < 1e-9 for k in whole)
    d = sr.diagnose(stage, lines[0])
    for line in lines[1:]:
        d = d.also(line)
    assert all(abs(whole[k] - shares(d)[k]) < 1e-9 for k in whole)


def test_two_npn_stage_with_a_weak_base(stage: object) -> None:
    """Common practice, no source: 0.60 V at a base says only that its junction conducts."""
    alone = sr.diagnose(stage, "B1 0.60")
    assert alone.verdicts is not None
    d = sr.diagnose(stage, "B1 0.60; X 1.54")
    leading = [s.fault for s in d.suspects[:4]]
    assert any(f.startswith("R1 drifted high") or f.startswith("Q1") for f in leading)
    assert "R1 drifted high" in " ".join(d.groups[0].faults)
    assert d.next_probe is not None
    assert d.values["R1"].low < 188e3 < d.values["R1"].high


def test_healthy_readings_leave_healthy_on_top_of_what_volts_cannot_see(stage: object) -> None:
    d = sr.diagnose(stage, "B1 0.67; X 0.015; B2 0.012; EN 3.27")
    assert d.healthy > d.suspects[0].share
    for s in d.suspects:
        assert s.share < d.healthy


def test_the_same_reading_five_times_is_one_reading(stage: object) -> None:
    once, five = shares(sr.diagnose(stage, "EN 0.02")), shares(sr.diagnose(stage, "; ".join(["EN 0.02"] * 5)))
    import math

    for a, b in itertools.combinations([k for k in once if once[k] > 1e-4 and k != "none"], 2):
        change = math.log(five[a] / five[b]) - math.log(once[a] / once[b])
        assert abs(change) < 0.25 * max(1.0, abs(math.log(once[a] / once[b])))


def test_any_probe_is_a_valid_reading(stage: object) -> None:
    d = sr.diagnose(stage, "EN 0.02")
    for p in d.next_probes[:5]:
        value = {"volts": "1.0", "ohms": "10k", "diode": "0.6", "amps": "0.02"}[p.setting]
        d.also(f"{p.at} {p.setting} {value} @{p.state}")
        assert p.gain >= 0 and p.why


def test_an_impossible_set_of_readings_is_none_of_these_or_doubtful(stage: object) -> None:
    d = sr.diagnose(stage, "B1 7.3; X 2.9; EN 1.1; B2 3.0")
    assert d.none_of_these > 0.3 or d.doubtful
