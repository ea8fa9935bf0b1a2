"""What is known is shown before what is still thought of: bands, then suspects, then the next probe."""

from pathlib import Path
from typing import Any

from tests.views.desks import desk_over

STAGE = "two_feed_enable"


def stages(desk: Any) -> list[dict[str, Any]]:
    return [states["stage"] for states in desk.screens.in_turn()]


def test_bands_come_before_the_first_suspects(tmp_path: Path) -> None:
    desk, _ = desk_over(tmp_path / "book.sqlite", STAGE)
    bands, all_of_it = stages(desk)
    assert bands["points"][0]["should"] == all_of_it["points"][0]["should"] != "…"
    assert not bands["groups"] and all_of_it["groups"] and all_of_it["next"]


def test_suspects_of_a_reading_come_before_the_next_probe(tmp_path: Path) -> None:
    desk, say = desk_over(tmp_path / "book.sqlite", STAGE)
    before = stages(desk)[-1]
    assert len(stages(desk)) == 1, "nothing was read since"
    for text in ("EN 0.02", "12V_AUX 12.1", "FEED 0.58"):
        assert say("read", text, screen="stage").ok
    weighed, whole = stages(desk)
    assert weighed["groups"] == whole["groups"] != before["groups"]
    assert weighed["left"] == whole["left"] and weighed["taken"] == whole["taken"]
    assert (weighed["next"], weighed["stop"], weighed["others"]) == (before["next"], before["stop"], before["others"])
    assert whole["next"] != before["next"]
    assert weighed["revision"] < whole["revision"]


def test_another_circuit_never_shows_the_probe_of_the_one_before(tmp_path: Path) -> None:
    desk, say = desk_over(tmp_path / "book.sqlite", STAGE)
    stages(desk)
    for line in ("VA at A 12", "R1 from A to B 10k", "R2 from B to GND 4k7"):
        assert say("part", line).ok
    assert say("use").ok
    assert say("read", "B 0.1", screen="stage").ok
    for stage in stages(desk):
        assert stage["next"] is None or stage["next"]["at"] in ("A", "B", "R1", "R2", "VA"), stage["next"]
