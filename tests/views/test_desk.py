"""The desk: what is typed is on the disk before it is shown, and what it means is said in the trade's words."""

import threading
import time
from pathlib import Path

import pytest
import shouldread as sr
from shouldread.casebook import Casebook
from shouldread.views.messages import read_message

from tests.views.desks import desk_over, fresh_id, shelf_circuit

STAGE = "two_feed_enable"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "book.sqlite"


def rows(state: dict[str, object], name: str) -> list[dict[str, object]]:
    found = state[name]
    assert isinstance(found, list)
    return found


def test_nothing_is_made_in_the_casebook_before_something_is_typed(path: Path) -> None:
    desk, say = desk_over(path)
    desk.screens.states()
    assert len(Casebook(path)) == 0
    say("board", "GH-CTRL-2")
    assert [case.board for case in Casebook(path)] == ["GH-CTRL-2"]


def test_a_reading_is_on_the_disk_when_the_answer_comes(path: Path) -> None:
    _, say = desk_over(path, STAGE)
    answer = say("read", "0,02", at="EN", setting="volts", state="run", condition="", screen="stage")
    assert answer.ok and "20 millivolts" in answer.said
    (case,) = Casebook(path)
    assert [str(r) for r in case.readings] == ["EN volts 0,02 @run"]


def test_a_repeated_message_is_taken_once(path: Path) -> None:
    _, say = desk_over(path, STAGE)
    uid = fresh_id()
    for _ in range(3):
        assert say("read", "EN 0.02", uid=uid, screen="stage").ok
    (case,) = Casebook(path)
    assert len(case.readings) == 1


def test_a_name_that_is_not_there_is_told_and_nothing_is_stored(path: Path) -> None:
    desk, say = desk_over(path, STAGE)
    answer = say("read", "EM 0.02", screen="stage")
    assert not answer.ok and "EM" in answer.said and "EN" in answer.said
    assert len(Casebook(path)) == 0 and desk.kept.stage_items() == ()


def test_ten_cold_rails_before_any_circuit(path: Path) -> None:
    """The doorway: names invented on the spot, a processor rail of 0.8 Ω is not called short."""
    desk, say = desk_over(path)
    say("rails in", setting="ohms")
    for line in ("12V 22k", "5V 2k1", "3V3 340", "1V8 96", "DDR 41", "proc 0.8", "VBUS 120k", "AVDD 610", "X7 0.9"):
        place, value = line.split()
        assert say("read", value, at=place, screen="rails").ok
    assert say("read", "5VSB 4k7; 1V2 33", screen="rails").ok
    door = desk.screens.states()["doorway"]
    said = {row["name"]: row["verdict"] for row in rows(door, "rows")}
    assert len(said) == 11 and said["proc"] != "too low"
    assert door["finding"] == "No rail is wrong as far as these figures can tell."
    assert "discharged" in str(door["caution"])


def test_the_enable_scene(path: Path) -> None:
    desk, say = desk_over(path)
    say("supply", volts="12 V", limit="500mA", amps="20mA", limiting=False, fed="12V")
    say("rail", "nominal 12", rail="12V")
    say("rail", "nominal 5 ± 5 % from 12V made by U3 enabled by EN5", rail="5V")
    say("rail", "from 5V made by U4", rail="3V3")
    for line in ("12V 12.1", "U3.VIN 12.1", "EN5 0.02", "5V 0.00", "3V3 0.0"):
        assert say("read", line, screen="rails").ok
    door = desk.screens.states()["doorway"]
    assert door["finding"] == "First wrong rail: 5V. 3V3 waits for it."
    assert [row["place"] for row in rows(door, "next")] == ["FEED", "EN5 ohms"]
    assert len(rows(door, "causes")) == 3 and "standby" in " ".join(map(str, rows(door, "says")))
    assert door["supply"] == {"volts": "12", "limit": "0.5", "amps": "0.02", "limiting": False, "fed": "12V"}
    assert [row["facts"] for row in rows(door, "rows")][1] == "nominal 5 ± 5 % from 12V made by U3 enabled by EN5"


def test_a_rail_line_that_cannot_be_read_changes_nothing(path: Path) -> None:
    desk, say = desk_over(path)
    say("rail", "nominal 5", rail="5V")
    answer = say("rail", "nominal banana", rail="5V")
    assert not answer.ok and "banana" in answer.said
    assert desk.kept.text("sheet") == "5V nominal 5\n"


def test_rails_and_stage_live_in_one_case(path: Path) -> None:
    desk, say = desk_over(path, STAGE)
    assert say("read", "0.00", at="5V", screen="rails").ok
    assert say("read", "0.02", at="EN", setting="volts", state="run", screen="stage").ok
    states = desk.screens.states()
    assert [row["name"] for row in rows(states["doorway"], "rows")] == ["5V"]
    assert {p["place"]: p["read"] for p in rows(states["stage"], "points") if p["read"]} == {"EN": "0.02"}
    (case,) = Casebook(path)
    assert len(case.readings) == 2 and sr.diagnose(case.circuit, case.text).readings[0].place == "EN"


def test_the_stage_walks_to_the_coil(path: Path) -> None:
    """Scene of the two-feed enable: auxiliary feed dead behind the shunt, the coil or its joint is left."""
    desk, say = desk_over(path, STAGE)
    first = desk.screens.states()["stage"]
    assert first["next"] is not None and all(not p["read"] for p in rows(first, "points"))
    for place, value in (("EN", "0.02"), ("FEED", "0.58"), ("12V_AUX", "12.1"), ("AUX_S", "12.1")):
        assert say("read", value, at=place, setting="volts", state="run", screen="stage").ok
    stage = desk.screens.states()["stage"]
    likely = [group for group in rows(stage, "groups") if group["rank"] == "likely"]
    assert [group["faults"] for group in likely] == [["L1 open"]]
    verdicts = {p["place"]: p["verdict"] for p in rows(stage, "points") if p["read"]}
    assert verdicts == {"EN": "too low", "FEED": "too low", "12V_AUX": "as it should be", "AUX_S": "as it should be"}
    assert stage["next"] is None and "confirm" in str(stage["stop"])


def test_what_the_kit_shows_is_what_its_rooms_say(path: Path) -> None:
    """Views compute no volt and no probability: every figure on the screen is another room's."""
    desk, say = desk_over(path, STAGE)
    say("read", "0.02", at="EN", setting="volts", state="run", screen="stage")
    stage = desk.screens.states()["stage"]
    circuit = shelf_circuit(STAGE)
    expected, found = sr.expect(circuit, state="run"), sr.diagnose(circuit, "EN 0.02")
    assert {p["place"]: p["should"] for p in rows(stage, "points")} == {
        at: expected[at].healthy.words for at in expected
    }
    named = [fault for group in rows(stage, "groups") if group["rank"] != "unlikely" for fault in group["faults"]]
    assert named == [f for group in found.groups for f in group.faults if group.share >= 0.02][: len(named)]
    assert stage["next"]["at"] == found.next_probe.at and stage["next"]["why"] == found.next_probe.why


def test_supposing_a_fault_shows_its_column(path: Path) -> None:
    _, say = desk_over(path, STAGE)
    answer = say("suppose", fault="L1 open", setting="volts", state="run", condition="")
    under = sr.expect(shelf_circuit(STAGE), state="run")["EN"].under("L1 open")
    assert answer.ok and answer.told["typical"]["EN"] == under.short
    assert "EN" in answer.told["moved"] and "12V_AUX" not in answer.told["moved"]
    assert not say("suppose", fault="L9 open").ok


def test_settings_states_and_conditions_follow_each_other(path: Path) -> None:
    desk, say = desk_over(path, STAGE)
    assert say("look", setting="ohms", state="run", condition="").ok
    stage = desk.screens.states()["stage"]
    assert (stage["setting"], stage["state"]) == ("ohms", "cold") and "discharged" in str(stage["caution"])
    assert say("look", setting="volts", state="aux missing", condition="L1 bridged").ok
    stage = desk.screens.states()["stage"]
    assert (stage["state"], stage["condition"]) == ("aux missing", "L1 bridged")
    assert not say("look", setting="volts", state="run", condition="L9 bridged").ok
    assert not say("look", setting="smell", state="run", condition="").ok
    assert desk.screens.look.condition == "L1 bridged"


def test_a_reading_taken_with_the_coil_bridged_stands_apart(path: Path) -> None:
    desk, say = desk_over(path, STAGE)
    say("read", "0.02", at="EN", setting="volts", state="run", condition="", screen="stage")
    say("look", setting="volts", state="run", condition="L1 bridged")
    say("read", "2.31", at="EN", setting="volts", state="run", condition="L1 bridged", screen="stage")
    bridged = {p["place"]: p["read"] for p in rows(desk.screens.states()["stage"], "points")}
    say("look", setting="volts", state="run", condition="")
    plain = {p["place"]: p["read"] for p in rows(desk.screens.states()["stage"], "points")}
    assert (bridged["EN"], plain["EN"]) == ("2.31", "0.02")


def test_taking_back_adds_and_never_rewrites(path: Path) -> None:
    desk, say = desk_over(path, STAGE)
    say("read", "EN 0.02", screen="stage")
    say("read", "FEED 12.1", screen="stage")
    last = str(desk.screens.states()["head"]["last"])
    for _ in range(2):  # a repeated message takes nothing else back
        assert say("undo", last).ok
    (case,) = Casebook(path)
    assert [r.place for r in case.readings] == ["EN"]
    assert [event.kind for event in case.events].count("reading") == 2
    assert say("undo").ok and not say("undo").ok


def test_going_on_with_another_case(path: Path) -> None:
    _, say = desk_over(path, STAGE, case="GC-1")
    say("read", "EN 0.02", screen="stage")
    desk, say = desk_over(path)
    head = desk.screens.states()["head"]
    assert head["empty"] and [row["name"] for row in head["cases"]] == ["GC-1"]
    assert say("case", "GC-1").ok
    states = desk.screens.states()
    assert states["head"]["case"] == "GC-1" and states["head"]["has_circuit"]
    assert {p["place"] for p in rows(states["stage"], "points") if p["read"]} == {"EN"}
    assert not say("case", "GC-7").ok


def test_two_benches_of_one_kernel_open_two_cases(path: Path) -> None:
    _, one = desk_over(path)
    _, two = desk_over(path)
    one("board", "A-1")
    two("board", "B-1")
    assert sorted(case.board for case in Casebook(path)) == ["A-1", "B-1"]


def test_another_meter_asks_every_band_anew(path: Path) -> None:
    desk, say = desk_over(path, STAGE)
    say("look", setting="ohms", state="", condition="")
    before = [p["should"] for p in rows(desk.screens.states()["stage"], "points")]
    assert say("meter", "cheap").ok and not say("meter", "golden").ok
    assert [p["should"] for p in rows(desk.screens.states()["stage"], "points")] != before


def test_every_message_may_come_from_another_thread(path: Path) -> None:
    desk, say = desk_over(path, STAGE)
    desk.screens.states()
    failed: list[str] = []

    def read(number: int) -> None:
        for _ in range(5):
            answer = say("read", f"EN 0.0{number}", screen="stage")
            desk.screens.states()
            if not answer.ok:
                failed.append(answer.said)

    threads = [threading.Thread(target=read, args=(number,)) for number in range(1, 5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failed
    (case,) = Casebook(path)
    assert len(case.readings) == 20


def test_a_further_reading_is_thought_about_quickly(path: Path) -> None:
    """A technician with two probes in hand does not wait: well under half a second on a stage of the shelf."""
    desk, say = desk_over(path, STAGE)
    say("read", "EN 0.02", screen="stage")
    desk.screens.states()
    start = time.perf_counter()
    say("read", "FEED 0.58", screen="stage")
    desk.screens.states()
    assert time.perf_counter() - start < 0.5


def test_names_of_a_hostile_file_come_through_as_text(path: Path) -> None:
    _, say = desk_over(path)
    name = "<img/src=x>"
    assert say("board", name).ok and say("symptom", "<script>alert(1)</script>").ok
    message = read_message({"do": "board", "id": fresh_id(), "text": name})
    assert message.text == name


def test_how_to_confirm_comes_from_the_repair_room(path: Path) -> None:
    _, say = desk_over(path, STAGE)
    answer = say("confirm", fault="L1 open", state="run")
    told = sr.confirm(shelf_circuit(STAGE), "L1 open", state="run")
    assert answer.ok and [step["action"] for step in answer.told["steps"]] == [step.action for step in told.steps]
    bridged = next(step for step in answer.told["steps"] if "bridge" in step["action"])
    feed = next(read for read in bridged["reads"] if read["place"] == "FEED")
    assert feed["right"] == told.if_right["FEED"].words and feed["wrong"] == told.if_wrong["FEED"].words
    cautions = [step["caution"] for step in answer.told["steps"] if step["caution"]]
    assert len(cautions) == len(set(cautions)) >= 2
    assert not say("confirm", fault="L9 open", state="run").ok


def test_the_rails_show_what_was_just_read(path: Path) -> None:
    """Ohms typed while volts are in view are not hidden: the view follows."""
    desk, say = desk_over(path)
    say("read", "5V 2k1")
    assert [(row["name"], row["read"]) for row in rows(desk.screens.doorway(), "rows")] == [("5V", "2k1")]
    assert desk.screens.doorway()["setting"] == "ohms"
    say("read", "proc 0.8 V; 5V 2k2")
    assert desk.screens.doorway()["setting"] == "ohms", "both were read: no need to leave"


def test_a_value_is_moved_and_every_point_follows(path: Path) -> None:
    """The slider shows what ``expect`` says of the circuit with that value; the circuit on the bench stays."""
    desk, say = desk_over(path, STAGE)
    told = say("what if", "3", part="R1").told
    assert told is not None and told["name"] == "R1 at 141 kΩ"
    other = sr.expect(shelf_circuit(STAGE).with_values(R1=141e3), state="run")
    typical = told["typical"]
    assert isinstance(typical, dict) and typical["B1"] == other["B1"].healthy.short
    assert set(typical) == {node for node in shelf_circuit(STAGE).nodes if node != "0"}
    low = say("what if", "0.001", part="R7").told
    assert low is not None and "EN" in low["moved"]
    assert desk.kept.circuit is not None and desk.kept.circuit.part("R1").value.nominal == 47e3
    for part, factor in (("Q1", "2"), ("R99", "2"), ("R1", "0"), ("R1", "1e9"), ("R1", "x")):
        assert not say("what if", factor, part=part).ok
    assert "R1" in [row["name"] for row in rows(desk.screens.stage(), "values")]


def test_the_road_and_a_point_as_pictures(path: Path) -> None:
    bench = sr.bench(STAGE, casebook=Casebook(path))
    with pytest.raises(sr.KitError, match="nothing was read"):
        bench.road()
    bench.read("EN 0.02; FEED 0.58")
    assert bench.road().image[:4] == b"\x89PNG" and "EN volts 0.02" in str(bench.road())
    assert "healthy" in str(bench.plot("FEED")) and "L1 open" in str(bench.plot("FEED"))


def test_the_verdict_is_there_before_the_reading_is_written_down_where_bands_are_known(path: Path) -> None:
    desk, say = desk_over(path, STAGE)

    def judged(text: str) -> dict[str, str]:
        return desk.judged(read_message({"do": "read", "id": fresh_id(), "text": text, "screen": "stage"}))

    assert judged("EN 0.02") == {}, "nothing was worked out yet"
    points = {row["place"]: row for row in rows(desk.screens.stage(), "points")}
    verdicts = judged("EN 2.30; FEED 0.58")
    assert verdicts == {points["EN"]["key"]: "as it should be", points["FEED"]["key"]: "too low"}
    assert desk.kept.is_empty, "nothing is kept by judging"
    assert say("read", "EN 2.30; FEED 0.58", screen="stage").ok
    later = {row["place"]: row for row in rows(desk.screens.stage(), "points")}
    assert [later[place]["verdict"] for place in ("EN", "FEED")] == list(verdicts.values())
    assert judged("EN ohms 8k4") == {}, "not in view"
    assert judged("EM 0.02") == {} and not say("read", "EM 0.02", screen="stage").ok


def test_a_reading_is_taken_while_a_question_waits_for_a_thought(path: Path) -> None:
    """What a fault would show is worked out after the thought that runs; typing goes on meanwhile."""
    desk, say = desk_over(path, STAGE)
    thinking, done, answers = threading.Event(), threading.Event(), list[bool]()

    def think() -> None:
        with desk.screens._lock:
            thinking.set()
            done.wait(60)

    thought = threading.Thread(target=think)
    thought.start()
    assert thinking.wait(60)
    question = threading.Thread(target=lambda: answers.append(say("suppose", fault="L1 open").ok))
    question.start()
    question.join(0.2)
    assert say("read", "EN 0.02", screen="stage").ok and not answers
    done.set()
    question.join(60)
    thought.join(60)
    assert answers == [True]
