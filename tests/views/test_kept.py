"""What the bench takes out of a case that goes on with another stage of the same board."""

from pathlib import Path

from shouldread.casebook import Casebook
from shouldread.views.kept import Kept


def test_a_second_stage_in_the_same_case_keeps_the_first_ones_readings_apart(tmp_path: Path) -> None:
    case = Casebook(tmp_path / "book.sqlite").open("GC-1", board="GH-CTRL-2")
    case.sheet("5V nominal 5 \u00b1 5 %")
    case.use("two_feed_enable")
    case.read("EN 0.02; FEED 0.58")
    case.read("5V 0.05", rails=True)
    case.observe("L1 lifted pad, smells")
    second = case.use("bead_local_rail")
    place = next(name for name in second.nodes if name not in ("0", "EN", "FEED"))
    case.read(f"{place} 0.02")
    kept = Kept(Casebook(tmp_path / "book.sqlite"), case, None)
    assert [item.place for item in kept.stage_items()] == [place]
    assert [item.place for item in kept.rail_items()] == ["5V"]
