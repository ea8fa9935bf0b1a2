"""A case says what happened on the bench: in its own words, on every stage, with what was taken back left out."""

from pathlib import Path

import pytest
from shouldread.casebook import Case, Casebook
from shouldread.casebook.form import KINDS, SCHEMA
from shouldread.casebook.road import road
from shouldread.errors import KitError, RequestError


@pytest.fixture
def book(tmp_path: Path) -> Casebook:
    return Casebook(tmp_path / "book.sqlite")


@pytest.fixture
def case(book: Casebook) -> Case:
    return book.open("GC-0042", board="GH-CTRL-2", symptom="nothing spins")


def test_a_printed_case_says_the_main_thing_of_every_event(case: Case) -> None:
    case.read("5V 0.09; 3V3 0.00")
    case.supply(volts=12, limit=0.5, amps=0.02, limiting=False)
    case.did("L1 replaced", part="10 µH", lot="2209")
    case.cause("L1 open", class_="wear", why="cracked")
    case.proved("all rails right", amps=0.42, minutes=30)
    said = str(case)
    for line in (
        "opened: GH-CTRL-2 (symptom nothing spins)",
        "reading: 5V 0.09; 3V3 0.00",
        "supply: 12.0 V (limit 0.5 A, amps 20 mA)",
        "done: L1 replaced (part 10 µH, lot 2209)",
        "cause: L1 open (class wear, why cracked)",
        "proved: all rails right (amps 0.42 A, minutes 30 min)",
    ):
        assert line in said


def test_the_road_says_the_cause_not_its_class(case: Case) -> None:
    case.cause("L1 open", class_="wear")
    assert [step.text for step in road(case)] == ["L1 open (class wear)"]


def test_a_second_fault_on_the_same_board_goes_on_in_the_same_case(case: Case) -> None:
    """Another stage comes on the bench: what was read on the first still stands, and each is diagnosed on its own."""
    case.use("two_feed_enable")
    case.read("EN 0.02; FEED 0.58")
    case.cause("L1 open")
    case.close()
    case.reopen("hums")
    case.use("bead_local_rail")
    place = next(name for name in case.circuit.nodes if name not in ("0", "EN", "FEED"))  # type: ignore[union-attr]
    case.read(f"{place} 0.02")
    assert [r.place for r in case.readings] == ["EN", "FEED", place]
    assert case.text == f"{place} 0.02"
    told = [step.told for step in road(case) if step.kind == "reading"]
    assert len(told) == 2 and all("left, first" in line for line in told)


def test_what_was_seen_may_be_said_in_any_words(case: Case) -> None:
    """Words that the grammar of readings refuses are kept, and spoil neither the readings nor the diagnosis."""
    case.use("two_feed_enable")
    case.read("EN 0.02")
    case.observe("L1 lifted pad, flux residue; 3V3 smells 9**9")
    case.observe("L1 cracked")
    assert [r.place for r in case.readings] == ["EN"]
    assert case.text == "EN 0.02\nL1 cracked"
    assert "lifted pad" in str(case) and len(road(case)) == 3


def test_a_marking_taken_back_is_the_old_one_again(book: Casebook, case: Case) -> None:
    case.mark("GH-CTRL-3")
    assert book.case("GC-0042").board == "GH-CTRL-3"
    case.undo()
    assert book.case("GC-0042").board == "GH-CTRL-2"


def test_taking_back_touches_no_other_case(book: Casebook, case: Case) -> None:
    case.read("5V 5.02", good=True, uid="mine")
    book.open("GC-2")._add("undone", {"uid": "mine"}, None)
    assert [str(k) for k in book.known_good("GH-CTRL-2")] == ["5V volts: 5.015 to 5.025 (1 good board)"]


@pytest.mark.parametrize(
    "words",
    ["a\x00b", "a\x1b[2Jb", "\ud800", "safe \u202egnp.exe", "x" * 200_001, "", "  "],
)
def test_a_sign_that_no_page_can_show_is_refused_and_nothing_is_kept(case: Case, words: str) -> None:
    with pytest.raises(RequestError):
        case.note(words)
    assert len(case.events) == 1


@pytest.mark.parametrize("facts", [{"volts": "12"}, {"volts": float("nan")}, {"volts": 12, "limiting": "no"}])
def test_a_detail_of_the_wrong_type_is_refused(case: Case, facts: dict[str, object]) -> None:
    with pytest.raises(KitError, match=r"volts|limiting|JSON"):
        case.supply(**facts)
    assert len(case.events) == 1


def test_every_kind_of_event_is_described_and_needs_its_first_detail() -> None:
    for kind, keys in KINDS.items():
        form = SCHEMA["definitions"][kind]
        assert form["description"].endswith(".") and form["required"] == [keys[0]]
