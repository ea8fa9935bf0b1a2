"""Drills: right answers lie in the healthy band by construction, and mistakes come again."""

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import shouldread as sr
from shouldread.meter import Reading, meter
from shouldread.practice.asking import Asking
from shouldread.practice.boxes import BOXES, boxes, next_card
from shouldread.practice.question import Question

STAGES = ("npn_inverter_enable", "two_feed_enable", "two_supply_and", "enable_divider", "opto_enable")
NOW = datetime(2026, 3, 1, 9, tzinfo=UTC)


def questions(name: str) -> list[Question]:
    asking = Asking(sr.load_circuit(name), meter("handheld"))
    return [q for key in asking.keys if (q := asking.question(key)) is not None]


@pytest.mark.parametrize("name", STAGES)
def test_answers_lie_in_the_healthy_band(name: str) -> None:
    """The kit's own judge finds every right answer healthy, and only the odd one out of the four not."""
    circuit = sr.load_circuit(name)
    asked = questions(name)
    for q in asked:
        _, _, state, about = q.key.split("|")
        told = sr.expect(circuit, state=state)
        if q.kind == "reads":
            typical = sr.solve(circuit, state=state, meter_at=about, meter=meter("handheld")).volts[about]
            assert told[about].healthy.low <= typical <= told[about].healthy.high
            assert q.mark(f"{typical:.6g}") and not q.mark(f"{typical + 1 + abs(typical):.6g}")
        elif q.kind == "odd":
            for choice in q.choices:
                place, _, shown = choice.partition(" reads ")
                value = Reading(place, shown).value
                assert told[place].healthy.low <= value <= told[place].healthy.high or choice == q.answer
                verdict = told.verdict(f"{place} {shown}")
                assert (verdict in ("too low", "too high")) == (choice == q.answer), (q, verdict)
        assert q.kind == "reads" or q.mark(q.answer)
    assert "reads" in {q.kind for q in asked} and len(asked) >= 8


def test_the_three_questions_of_the_feeds() -> None:
    """Facts of two-feed enables: one feed gone, the second transistor holds the enable down. Common practice, no source."""
    asked = {q.key: q for q in questions("two_feed_enable")}
    q = asked["two_feed_enable|reads|aux_missing|EN"]
    assert q.text == "What should EN read with VAUX missing (state aux missing)?"
    assert q.mark("0.02") and q.mark("15m") and not q.mark("2.3")
    which = asked["two_feed_enable|conducts|aux_missing|"]
    assert which.mark("Q2") and not which.mark("Q1 and Q2") and not which.mark("none")
    assert "Q1 is cut off" in which.why and "Q2 is saturated" in which.why


def test_what_is_no_answer_is_told_what_to_type() -> None:
    asked = {q.kind: q for q in questions("two_supply_and")}
    for text in ("", "  "):
        with pytest.raises(sr.KitError, match="an answer is missing"):
            asked["reads"].mark(text)
    with pytest.raises(sr.KitError, match=r"no reading: type what the meter shows, such as 2\.3"):
        asked["reads"].mark("high-ish")
    with pytest.raises(sr.KitError, match="none of the choices: type one of A, B"):
        asked["level"].mark("maybe")


def test_the_same_seed_asks_the_same() -> None:
    def asked() -> list[str]:
        d = sr.drill("two_supply_and", seed=8)
        out = []
        for _ in range(6):
            assert d.question is not None
            out.append(str(d.question))
            d.answer(d.question.choices[0] if d.question.choices else "none" if d.question.kind == "conducts" else "0")
        return out

    assert asked() == asked()


def right_answer(question: Question) -> str:
    return str(question.band.typical) if question.band is not None else question.answer


def test_a_missed_question_comes_again_after_three_others() -> None:
    d = sr.drill("two_supply_and", seed=1)
    missed = d.question
    assert missed is not None
    wrong = {"reads": "99", "conducts": "Q9"}.get(missed.kind) or next(c for c in missed.choices if c != missed.answer)
    assert not d.answer(wrong)
    between = []
    while d.question is not None and d.question.key != missed.key:
        between.append(d.question.key)
        assert d.answer(right_answer(d.question))
    assert len(between) == 3 and d.question is not None
    assert d.answer(right_answer(d.question)) and sum(d.boxes) == 4 and d.boxes[0] == 0


def test_progress_is_kept_in_the_casebook_and_mistakes_come_first(tmp_path: Path) -> None:
    book = sr.Casebook(tmp_path / "book.sqlite")
    d = sr.drill("npn_inverter_enable", seed=2, learner="Ana", casebook=book)
    missed = d.question
    assert missed is not None
    d.answer({"reads": "99"}.get(missed.kind) or next(c for c in missed.choices if c != missed.answer))
    again = sr.drill("npn_inverter_enable", seed=77, learner="ana", casebook=sr.Casebook(book.path))
    assert again.question is not None and again.question.key == missed.key
    other = sr.drill("npn_inverter_enable", seed=2, learner="Ben", casebook=book)
    assert sum(other.boxes) == 0
    assert [one.body["card"] for one in book.lessons("Ana", "drill")] == [missed.key]


def test_what_is_known_rests_and_comes_back_when_it_is_due(tmp_path: Path) -> None:
    """Right answers rest a day, then longer; with nothing due and nothing new, nothing is asked."""
    book, now = sr.Casebook(tmp_path / "book.sqlite"), [datetime.now(UTC)]
    told = {"learner": "Ana", "casebook": book, "clock": lambda: now[0]}
    d = sr.drill("opto_enable", seed=2, **told)
    while d.question is not None:
        assert d.answer(right_answer(d.question))
    assert "Everything is known for today" in str(d)
    with pytest.raises(sr.KitError, match="known for today"):
        d.answer("0")
    now[0] += timedelta(hours=20)
    assert sr.drill("opto_enable", seed=3, **told).question is None
    now[0] += timedelta(hours=5)
    assert sr.drill("opto_enable", seed=3, **told).question is not None


def test_five_boxes() -> None:
    """Leitner 1972: right moves one box on and no further than the last, wrong goes back to the first."""
    dice = random.Random(3)
    for _ in range(50):
        told = [dice.random() < 0.7 for _ in range(12)]
        box = 1
        for right in told:
            box = min(box + 1, BOXES) if right else 1
        card = boxes(("k", right, NOW + timedelta(hours=i)) for i, right in enumerate(told))["k"]
        assert (card.box, card.missed) == (box, told.count(False))
        assert not card.due(card.last or NOW) or card.box == 1


def test_the_most_often_missed_comes_first() -> None:
    told = [("a", False), ("b", False), ("b", False), ("c", True)]
    cards = boxes((key, right, NOW) for key, right in told)
    assert next_card(["a", "b", "c", "d"], cards, [], NOW) == "b"
    assert next_card(["a", "b", "c", "d"], cards, ["b"], NOW) == "a"
    assert next_card(["a", "b", "c", "d"], cards, ["b", "a"], NOW) == "d"
    assert next_card(["c"], cards, [], NOW + timedelta(days=2)) == "c"


def test_a_learner_needs_a_name_that_prints(tmp_path: Path) -> None:
    book = sr.Casebook(tmp_path / "book.sqlite")
    d = sr.drill("opto_enable", seed=2, learner="  ", casebook=book)
    assert d.question is not None
    with pytest.raises(sr.KitError, match="a learner needs a name"):
        d.answer(right_answer(d.question))
    with pytest.raises(sr.KitError, match="no kind of lesson 'quiz'"):
        book.learn("Ana", "quiz", {})
