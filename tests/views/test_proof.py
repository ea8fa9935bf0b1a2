"""The proof on the bench: results are kept as they are typed, judged at once, and told in the write-up."""

from pathlib import Path

from tests.views.desks import desk_over


def lines(told: object) -> dict[str, dict[str, str]]:
    assert isinstance(told, dict)
    return {line["key"]: line for stage in told["stages"] for line in stage["lines"]}


def test_results_are_kept_judged_and_told(tmp_path: Path) -> None:
    desk, say = desk_over(tmp_path / "book.sqlite", "two_feed_enable")
    assert lines(say("proof").told)["power-up"]["verdict"] == "not done" and desk.kept.is_empty
    say("cause", "L1 open", why="a shorted clamp behind it")
    assert say("why", "a shorted clamp in the load").ok
    told = say("proof").told
    assert told is not None and told["cause"] == "L1 open" and told["why"] == "a shorted clamp in the load"
    say("cause", "L1 open")
    assert say("proof").told["why"] == "a shorted clamp in the load", "the why stands until another is said"  # type: ignore[index]
    say("confirmed", "L1 bridged: FEED 12.1, EN 2.3")
    assert "right" in say("test", "not limiting", at="power-up").said
    assert "even a joint" in say("test", "FEED 12.0 at 0.02 A").said
    say("test", "52 C at 30 min", at="L1 °C")
    rows = lines(say("proof").told)
    assert rows["power-up"]["verdict"] == "right" and rows["12V_AUX to FEED"]["verdict"] == "not proven"
    assert rows["L1 °C"]["shown"] == "52 °C at 30 min" and "L1 ohms" in rows
    assert say("proved").ok
    page = desk.kept.case.write_up(tmp_path / "out")[2].read_text(encoding="utf-8")
    for words in (
        "Why it failed: a shorted clamp in the load",
        "confirmed: L1 open: L1 bridged: FEED 12.1",
        "power-up: not limiting, right",
        "proved: hand-over sheet: ",
    ):
        assert words in page


def test_what_the_sheet_cannot_take_is_not_kept(tmp_path: Path) -> None:
    desk, say = desk_over(tmp_path / "book.sqlite", "two_feed_enable")
    answer = say("test", "lots", at="EN")
    assert not answer.ok and "EN lots" in answer.said and desk.kept.is_empty
    assert say("test", "2.3", at="EN", uid="a" * 32).ok and say("test", "2.3", at="EN", uid="a" * 32).ok
    assert len([e for e in desk.kept.standing() if e.kind == "test"]) == 1
    told = say("proof").told
    assert told is not None and say("undo", str(told["last"])).ok
    assert lines(say("proof").told)["EN"]["verdict"] == "not done"


def test_a_traced_stage_and_the_rails_of_its_board_are_one_sheet(tmp_path: Path) -> None:
    desk, say = desk_over(tmp_path / "book.sqlite", "two_feed_enable")
    assert "cause first" in say("why", "who knows").said
    say("rail", "nominal 5 ± 5 % from 12V_AUX enabled by EN", rail="5V")
    assert "right" in say("test", "5.02", at="5V").said and "right" in say("test", "2.3", at="EN").said
    rows = lines(say("proof").told)
    assert rows["5V"]["verdict"] == rows["EN"]["verdict"] == "right" and rows["order"]["verdict"] == "not done"
    assert say("proved").ok and "5V 5.02" in desk.kept.case.write_up(tmp_path / "out")[2].read_text(encoding="utf-8")


def test_rails_alone_are_proved_too_and_nothing_asks_for_something(tmp_path: Path) -> None:
    _, say = desk_over(tmp_path / "book.sqlite")
    answer = say("proof")
    assert not answer.ok and "enter the rails, or trace a stage" in answer.said
    say("rail", "nominal 5 ± 5 % from 12V", rail="5V")
    say("test", "5.02", at="5V")
    assert lines(say("proof").told)["5V"]["verdict"] == "right"
