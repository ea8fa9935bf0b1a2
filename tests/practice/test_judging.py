"""Judging, harm, intermittent and double faults, other roads, real boards."""

import json
import pickle
from pathlib import Path

import pytest
import shouldread as sr
from shouldread.practice import Exercise, follow, seal


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("shouldread.practice.sealing.user_data_path", lambda name: tmp_path)
    return tmp_path


def and_stage(hidden: str = "R1 open", seed: int = 3) -> Exercise:
    return sr.exercise(circuit="two_supply_and", hidden=hidden, seed=seed)


def test_the_result_says_what_the_road_cost() -> None:
    e = and_stage()
    assert e.predict("X", "0.01") == "right for a healthy board"
    assert e.predict("B1", "5").startswith("a healthy board reads 0.67")
    e.measure("X")
    e.measure("B1")
    assert not e.name("R6 open")
    result = e.name("R1 open")
    assert result and result.predicted == (1, 2) and result.needless == 1
    assert result.toll == e.toll and result.toll.minutes >= 16 and 0.05 < result.toll.risk < 0.1
    assert "needless parts: 1" in str(result)


def test_a_prediction_is_judged_in_the_state_it_names() -> None:
    """With 12 V missing the AND's X rises to about 2 V: ngspice on these parts, as the circuit's file says."""
    e = and_stage()
    assert e.predict("X", "1.98 @no 12V") == "right for a healthy board"
    assert "1.98" in e.predict("X", "0.01 @no 12V") and e.predictions == (1, 1)
    assert e.predict("B1", "ohms 10k") == "right for a healthy board"
    with pytest.raises(sr.KitError):
        e.predict("B1", "warm-ish")
    assert e.predictions == (2, 2)


def test_the_same_evidence_is_judged_alike_however_it_was_reached() -> None:
    """Order, detours that tell nothing, and predictions change minutes, not the score of the same readings."""
    one, two = and_stage(), and_stage()
    places = ["X", "B1", "EN"]
    for place in places:
        one.measure(place)
    two.predict("B2", "0")
    text = {p: one.log[k].answer for k, p in enumerate(places)}
    from shouldread.practice.result import judge

    told = [judge(one.circuit, "R1 open", one._hidden.fault, "; ".join(f"{p} {text[p]}" for p in order), "handheld")
            for order in (places, places[::-1])]  # fmt: skip
    assert abs(told[0].score - told[1].score) < 1e-9


def test_nothing_is_gained_by_a_guess_inside_a_group() -> None:
    """All members of a group score alike: which of them is named does not matter."""
    e = and_stage("R5 drifted high")
    for place in ("X", "B2", "EN"):
        e.measure(place)
    group = next(g for g in e.diagnosis.groups if "R5 drifted high" in g.faults)
    scores = {e.name(fault).score for fault in group.faults[:3]}
    assert len(scores) == 1


def test_more_than_nominal_is_not_fed_in() -> None:
    e = and_stage("R6 short")
    told = e.do("inject 24 V at V3")
    assert told.startswith("stopped: 24.0 V into V3") and e.log[-1].stopped and e.toll.risk > 0.19
    assert "limits" in e.do("inject 3.3 V at V3 limit 0.00001") and not e.log[-1].stopped
    with pytest.raises(sr.KitError, match=r"say it as: inject 3\.3 V at EN limit 0\.2"):
        e.do("inject a lot")
    with pytest.raises(sr.KitError, match="no node 'VX'"):
        e.do("inject 3.3 V at VX")


def test_injecting_into_a_short_limits() -> None:
    """Ohm: a source of 3.3 V behind its leads on 10 milliohm to ground is limited."""
    c = "* rail\nV1 A 0 3.3\nR1 A B 1\nC1 B 0 1u\nR2 B 0 1k\n"
    e = sr.exercise(circuit=c, hidden="C1 short", seed=1)
    assert e.do("inject 3 V at B limit 1").startswith("it limits at 1 A")
    healthy = sr.exercise(circuit=c, hidden="R2 drifted high", seed=1)
    assert healthy.do("inject 3 V at B limit 1").startswith("3.0 V, ")


def test_probes_slip_where_they_reach_badly_and_the_reading_is_taken_again() -> None:
    """At one slip in 25 readings, 200 readings beside a 12 V neighbour slip 1 to 25 times."""
    c = (
        "* rail\n*: [nodes]\n*: B = { reach = \"hard\" }\n*: A = { reach = \"easy\" }\n"
        "V1 A 0 12\nR1 A B 10k\nR2 B 0 1k\n"
    )  # fmt: skip
    e = sr.exercise(circuit=c, hidden="R2 drifted x1.5", seed=1)
    texts = [e.measure("B") for _ in range(200)]
    slips = [act for act in e.log if act.stopped]
    assert 1 <= len(slips) <= 25 and all("slipped from B towards " in act.answer for act in slips)
    assert {act.answer.split("towards ")[1].split(";")[0] for act in slips} == {"A", "ground"}
    assert not [text for text in texts if "slip" in text] and len(e.log) == 200 + len(slips)
    calm = sr.exercise(circuit=c, hidden="R2 drifted high", seed=1)
    assert not [calm.measure("A") for _ in range(50) if calm.log and calm.log[-1].stopped]


def test_an_intermittent_fault_shows_only_under_what_brings_it_out() -> None:
    e = sr.exercise(circuit="two_supply_and", hidden=seal("R1 open", trigger="warmed"), seed=2)
    assert "fails once it is warm" in e.brief
    assert float(e.measure("X").split()[0]) < 30  # mV
    assert e.measure("X").endswith("mV")
    e.do("flexed")
    assert e.measure("X").endswith("mV")
    e.do("warmed")
    assert e.measure("X").endswith(" V")
    e.measure("B1")
    e.measure("V12")
    assert e.diagnosis.groups[0].faults[0] == "R1 open" and e.name("R1 open").score > 0.5
    assert "the fault hid, so this tells nothing of it" in e.looking_back
    assert "It was R1 open when warmed." in e.looking_back
    e.undo("warmed")
    assert e.measure("X").endswith("mV")


def test_steps_four_and_five() -> None:
    four, five = (sr.exercise(circuit="two_supply_and", step=step, seed=6) for step in (4, 5))
    assert any(words in four.brief for words in ("once it is warm", "cold mornings", "leans on the cabinet"))
    assert " when " in four.give_up()
    halves = five.give_up().removeprefix("It was ").rstrip(".").split(" + ")
    assert len(halves) == 2
    again = sr.exercise(circuit="two_supply_and", step=5, seed=6)
    half = again.name(halves[0])
    assert half and half.score == 0 and "one more is still hidden, but a guess" in half.why, "nothing was read"
    both = again.name(" + ".join(halves))
    assert both and both.score == 0 and "but a guess" in both.why


def test_a_healthy_stage_whose_feed_is_missing_is_an_exercise() -> None:
    e = and_stage("V12 absent")
    assert "(EN) is not there" in e.brief
    assert e.measure("V12").endswith("mV")
    assert e.name("V12 absent").score > 0.5


def test_step_one_is_obvious_and_step_three_gradual() -> None:
    """A step 1 fault shows at an output; step 3 hides drift, leak, a low or a missing feed."""
    modes = set()
    for seed in range(12):
        assert "now and then" not in sr.exercise("enable", step=1, seed=seed).brief
        modes.add(sr.exercise("enable", step=3, seed=seed).give_up().rstrip(".").split(" ", 3)[3].split(" ")[0])
    assert modes <= {"drifted", "leaky", "absent", "low"} and len(modes) > 1


def test_other_roads_over_the_same_board() -> None:
    e = and_stage(seed=1)
    with pytest.raises(sr.KitError, match="when the fault is named"):
        e.other_roads()
    for place in ("X", "B1", "V12"):
        e.measure(place)
    e.name("R1 open")
    roads = e.other_roads()
    assert roads["The kit's own probes"].right_first
    assert roads["The kit's own probes"].toll.minutes < roads["A random walk"].toll.minutes
    back = e.looking_back
    for words in ("The kit's own probes: ", "A random walk: ", ", told ", "The tell:", "The classic mistake:",
                  "How it works: EN @both reads", "Q1 is saturated"):  # fmt: skip
        assert words in back, words
    assert follow(and_stage(seed=1)).toll == roads["The kit's own probes"].toll


def test_a_better_probe_is_told_with_its_reason() -> None:
    e = and_stage()
    e.measure("V12")
    e.name("R1 open")
    line = next(line for line in e.looking_back.splitlines() if line.startswith("- V12 volts"))
    assert "; better: " in line and ": splits the list" in line


def test_a_sealed_fault_is_in_nothing_that_a_notebook_keeps(own_folder: Path) -> None:
    token = seal("R1 open", circuit="two_supply_and")
    e = sr.exercise(circuit="two_supply_and", hidden=token, seed=4)
    e.measure("X")
    e.do("R4 lifted")
    e.observe()
    shown = [token, repr(e), str(e), e.brief, repr(e.log), repr(e.diagnosis), repr(e._hidden), repr(e._true)[:0]]
    shown += [repr(value) for value in vars(e).values() if value is not e._true and value is not e.circuit]
    assert not [text for text in shown if "R1 open" in text]
    assert (own_folder / "sealed" / f"{token}.json").stat().st_mode & 0o077 == 0
    with pytest.raises((TypeError, pickle.PicklingError), match="sealed"):
        pickle.dumps(e)


def test_what_does_not_fit_is_told_without_telling_it(own_folder: Path) -> None:
    token = seal("R9 open")
    with pytest.raises(sr.KitError, match="no fault of two_supply_and") as told:
        sr.exercise(circuit="two_supply_and", hidden=token)
    assert "R9" not in str(told.value) and told.value.__cause__ is None
    with pytest.raises(sr.KitError, match="no fault"):
        seal("R9 open", circuit="two_supply_and")
    with pytest.raises(sr.KitError, match="no trigger 'hit'"):
        seal("R1 open", trigger="hit")
    (own_folder / "sealed" / f"{token}.json").write_text(json.dumps(["R1 open"]))
    with pytest.raises(sr.KitError, match="nothing is sealed"):
        sr.exercise(circuit="two_supply_and", hidden=token)


def test_a_real_board_is_read_by_hand() -> None:
    """The learner's own readings: 12 V there, b at 0 V, the stage's X up: R1 open as on the simulated board."""
    with pytest.raises(sr.KitError, match="words of its owner"):
        seal("R1 open", real=True)
    token = seal("R1 open", circuit="two_supply_and", real=True, brief="The pump never starts.")
    e = sr.exercise(circuit="two_supply_and", hidden=token, seed=1)
    assert e.brief == "The pump never starts."
    for verb in (lambda: e.measure("X"), e.observe):
        with pytest.raises(sr.KitError, match="this board is real"):
            verb()
    e.predict("B1", "0.67")
    assert [r.at for r in e.read("V12 12.0; X 1.98\nB1 0.00; nothing warm")] == ["V12", "X", "B1"]
    with pytest.raises(sr.KitError):
        e.read("XX 3")
    assert e.name("R1 open").score > 0.5 and e.toll.minutes > 4
    assert "X volts @both: 1.98" in e.looking_back
    with pytest.raises(sr.KitError, match="this board is simulated"):
        and_stage().read("X 1.98")


def test_no_display_shows_ohms_below_zero() -> None:
    e = sr.exercise(circuit="two_feed_enable", hidden="L1 open", seed=1)
    assert all(not e.measure("RJ1", "ohms").startswith("-") for _ in range(30))
