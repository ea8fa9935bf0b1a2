"""Laws of inference that hold for every circuit, whatever was read."""

import itertools
import math

import pytest
import shouldread as sr
from shouldread.circuit import Circuit
from shouldread.diagnosis import Diagnosis
from shouldread.faults import Fault
from shouldread.meter import measure

SHELF = ["npn_inverter_enable", "two_supply_and", "two_feed_enable", "enable_divider", "diode_or", "zener_clamp"]
FITS = 0.02  # of the best explanation
STAGE = """* two transistors
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
.model QN NPN(IS=7e-15 BF=180 VAF=80 BR=4 RC=0.8 RB=10)
"""
SHUFFLED = """* the same, otherwise written
r6 en v3 10000
q2 en b2 0 qn
R5 0 B2 47000
R4 B2 X 1e4
V3 V3 0 3300m
R3 X V3 10K
Q1 X B1 GND0 QN
R2 0 B1 10k
RG GND0 0 1u
R1 B1 V12 0.047meg
v12 V12 0 12
.model qn npn(bf=180 rb=10 is=7f br=4 rc=800m vaf=80)
""".replace("Q1 X B1 GND0 QN", "Q1 X B1 0 QN").replace("RG GND0 0 1u\n", "")


def shares(d: Diagnosis) -> dict[str, float]:
    return {s.fault: s.share for s in d.suspects} | {"healthy": d.healthy, "none of these": d.none_of_these}


def healthy_text(circuit: Circuit, states: bool = False, fault: Fault | None = None) -> str:
    """Every node as the display shows it, in the first state or in all."""
    nodes = [n for n in circuit.nodes if n != "0"]
    rows = [(n, s) for n in nodes for s in (circuit.states if states else circuit.states[:1])]
    return "; ".join(f"{n} {measure(circuit, n, state=s, fault=fault).text} @{s}" for n, s in rows)


@pytest.fixture(scope="module", params=SHELF)
def circuit(request: pytest.FixtureRequest) -> Circuit:
    return sr.load_circuit(str(request.param))


def test_shares_sum_to_one_and_groups_part_the_suspects(circuit: Circuit) -> None:
    d = sr.diagnose(circuit, "")
    for text in ("", healthy_text(circuit)):
        d = d.also(text)
        assert sum(shares(d).values()) == pytest.approx(1.0, abs=1e-9)
        named = [fault for group in d.groups for fault in group.faults]
        assert sorted(named) == sorted(s.fault for s in d.suspects) and len(set(named)) == len(named)
        for group in d.groups:
            assert group.share == pytest.approx(sum(shares(d)[f] for f in group.faults), abs=1e-12)


def test_groups_do_not_change_with_what_is_read(circuit: Circuit) -> None:
    def sets(d: Diagnosis) -> set[frozenset[str]]:
        return {frozenset(group.faults) for group in d.groups}

    assert sets(sr.diagnose(circuit, "")) == sets(sr.diagnose(circuit, healthy_text(circuit)))


def test_no_reading_leaves_what_was_believed(circuit: Circuit) -> None:
    d = sr.diagnose(circuit, "")
    assert d.healthy == pytest.approx(0.5, abs=1e-12) and d.none_of_these == pytest.approx(0.03, abs=1e-12)


def test_what_volts_cannot_show_never_outranks_healthy(circuit: Circuit) -> None:
    """All nodes of a good board, as the display shows them, in every state."""
    d = sr.diagnose(circuit, healthy_text(circuit, states=True))
    assert d.healthy > max(s.share for s in d.suspects)
    assert not d.doubtful


def test_a_fault_put_in_is_found_again(circuit: Circuit) -> None:
    """Read back at every node in every state and across what it hits, it explains this about as well as anything.

    Less well by a factor at most: a fault of any degree spreads its chances over all degrees.
    """
    before, tried, lost = shares(sr.diagnose(circuit, "")), 0, []
    for fault in circuit.single_faults:
        part = circuit.part(fault.parts[0])
        text = healthy_text(circuit, states=True, fault=fault)
        if part.kind in "RL":
            shown = measure(circuit, part.name, setting="ohms", fault=fault)
            text += "" if shown.rising else f"; {part.name} ohms {shown.text}"
        after = shares(sr.diagnose(circuit, text))
        fit = {name: after[name] / before[name] for name in before if before[name] > 0}
        tried += 1
        if fit[str(fault)] < FITS * max(fit.values()):
            best = max(fit, key=lambda name: fit[name])
            lost.append((str(fault), best, round(fit[str(fault)] / fit[best], 5)))
    assert tried > 5 and not lost, lost


@pytest.fixture(scope="module")
def stage() -> Circuit:
    return sr.load_circuit(STAGE)


LINES = ["EN 0.02", "B1 0.60", "X 1.54", "B2 0.655", "R1 ohms > 100k", "V3 3.31"]


def test_the_order_of_readings_is_irrelevant(stage: Circuit) -> None:
    known = shares(sr.diagnose(stage, "; ".join(LINES)))
    for order in itertools.islice(itertools.permutations(LINES), 0, 720, 131):
        other = shares(sr.diagnose(stage, "; ".join(order)))
        assert all(abs(known[k] - other[k]) < 1e-9 for k in known)


def test_one_by_one_is_all_at_once(stage: Circuit) -> None:
    d = sr.diagnose(stage)
    for line in LINES:
        d = d.also(line)
    known = shares(sr.diagnose(stage, "; ".join(LINES)))
    assert all(abs(known[k] - shares(d)[k]) < 1e-9 for k in known)


@pytest.mark.parametrize("nothing", ["X > -1000 V", "X < 1000 V", "B2 -500..500", "EN ohms > 0", "R1 ohms 0..1000M"])
def test_a_reading_that_says_nothing_changes_no_share(stage: Circuit, nothing: str) -> None:
    for text in ("", "EN 0.02", "EN 0.02; B1 0.60; X 1.54", "EN dead; R1 ohms OL"):
        a, b = shares(sr.diagnose(stage, text)), shares(sr.diagnose(stage, f"{text}; {nothing}"))
        assert all(abs(a[k] - b[k]) < 1e-9 for k in a)


@pytest.mark.parametrize(
    "line", ["EN 0.02", "B1 0.60", "X 1.543", "EN dead", "R1 ohms OL", "R1 ohms 190k", "X ohms 9.1k"]
)
def test_the_same_reading_five_times_is_hardly_more_than_once(stage: Circuit, line: str) -> None:
    once, five = shares(sr.diagnose(stage, line)), shares(sr.diagnose(stage, "; ".join([line] * 5)))
    live = [k for k in once if once[k] > 1e-12 and five[k] > 0]
    for a, b in itertools.combinations(live, 2):
        before, after = math.log(once[a] / once[b]), math.log(five[a] / five[b])
        assert abs(after - before) < 0.25 * abs(before) + 0.02, (a, b)


def test_how_the_netlist_is_written_is_irrelevant(stage: Circuit) -> None:
    other = sr.load_circuit(SHUFFLED)
    text = "EN 0.02; B1 0.60; X 1.54"
    one, two = sr.diagnose(stage, text), sr.diagnose(other, text)

    def folded(d: Diagnosis) -> dict[str, float]:
        return {k.casefold(): v for k, v in shares(d).items()}

    assert all(abs(folded(one)[k] - folded(two)[k]) < 1e-6 for k in folded(one))
    groups = [{frozenset(f.casefold() for f in g.faults) for g in d.groups} for d in (one, two)]
    assert groups[0] == groups[1]


def test_bands_do_not_hang_on_how_the_netlist_is_written(stage: Circuit) -> None:
    other = sr.load_circuit(SHUFFLED)
    for setting in ("volts", "ohms"):
        one, two = sr.expect(stage, setting=setting), sr.expect(other, setting=setting)
        for node in ("B1", "X", "B2", "EN"):
            for a, b in (
                (one[node].healthy, two[node].healthy),
                (one[node].under("R4 open"), two[node].under("R4 open")),
            ):
                assert (a.low, a.typical, a.high) == pytest.approx((b.low, b.typical, b.high), rel=1e-6, abs=1e-9)


def test_every_gain_is_at_least_nothing_and_at_most_the_doubt(stage: Circuit) -> None:
    d = sr.diagnose(stage, "EN 0.02")
    assert d.next_probes
    assert all(0 <= p.gain <= d.doubt + 1e-9 and p.cost > 0 for p in d.next_probes)
    gains = [p.gain / p.cost for p in d.next_probes]
    assert all(a >= b / 1.06 for a, b in itertools.pairwise(gains))


def test_a_probe_taken_lowers_the_doubt_on_the_whole(stage: Circuit) -> None:
    """Following the next probe on a board with a known fault ends at its group, with ever less doubt."""
    for fault in ("R1 open", "Q1 collector open", "R6 open", "R4 open"):
        d = sr.diagnose(stage, f"EN {measure(stage, 'EN', fault=fault).text}", healthy=0.05)
        first = d.doubt
        for _ in range(6):
            probe = d.next_probe
            if probe is None:
                break
            shown = measure(stage, probe.at, setting=probe.setting, state=probe.state, fault=fault)
            d = d.also(f"{probe.at} {probe.setting} {shown.text} @{probe.state}")
        assert d.doubt < first
        assert fault in d.groups[0].faults, fault


def test_one_wrong_reading_is_named_and_does_not_carry_the_day(stage: Circuit) -> None:
    """R6 open, with a slip of the decimal point at B1 (6.7 V for 0.67 V)."""
    rest = "; ".join(f"{n} {measure(stage, n, fault='R6 open').text}" for n in ("X", "B2", "EN", "V3", "V12"))
    d = sr.diagnose(
        stage, f"B1 6.7; {rest}; EN to 0 ohms {measure(stage, 'EN', setting='ohms', fault='R6 open').text}"
    )
    assert [r.place for r in d.doubtful] == ["B1"]
    assert d.suspects[0].fault == "R6 open"
    assert d.next_probe is not None and d.next_probe.at == "B1" and "again" in d.next_probe.why


def test_good_readings_raise_no_false_alarm(circuit: Circuit) -> None:
    for state in circuit.states:
        told = sr.expect(circuit, state=state)
        for node in circuit.nodes:
            if node != "0":
                verdict = told.verdict(f"{node} {measure(circuit, node, state=state).text} @{state}")
                assert verdict in ("as it should be", "cannot tell"), (node, state)


def test_what_was_seen_counts_and_seeing_it_twice_does_not(stage: Circuit) -> None:
    before, after = sr.diagnose(stage, "EN 0.02"), sr.diagnose(stage, "EN 0.02; R1 burnt")
    assert shares(after)["R1 open"] > shares(before)["R1 open"]
    assert shares(sr.diagnose(stage, "EN 0.02; R1 burnt; R1 burnt")) == pytest.approx(shares(after))
    assert "burnt" in next(s.why for s in after.suspects if s.fault == "R1 open")
