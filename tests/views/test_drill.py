"""The drill screen without a browser: messages in, plain data out, and no answer in it before one is given."""

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import shouldread as sr
from shouldread.casebook import Casebook
from shouldread.practice import Drill, truth_table
from shouldread.views import static
from shouldread.views.drill import DrillBench

from tests.views.test_static import selectors

STAGE = "npn_inverter_enable"


class Page:
    """A page's end of the wire."""

    def __init__(self, drill: Drill) -> None:
        self.bench = DrillBench(drill)
        self.heard: list[dict[str, Any]] = []
        self.bench.widget.send = lambda content, buffers=None: self.heard.append(content)
        self._number = 0

    def send(self, verb: str, text: str = "", uid: str = "", **more: str) -> dict[str, Any]:
        self._number += 1
        message = {"do": verb, "id": uid or f"{self._number:032x}", "text": text, **more}
        self.bench.line.hear(self.bench.widget, message, [])
        self.bench.line.wait(120)
        return self.heard[-1]

    def give(self, text: str, uid: str = "") -> dict[str, Any]:
        return self.send("answer", text, uid, card=self.state["question"]["key"])

    @property
    def state(self) -> dict[str, Any]:
        return dict(self.bench.widget.drill)

    def answer(self) -> str:
        question = self.bench.drill.question
        assert question is not None
        return f"{question.band.typical:.4g}" if question.band is not None else question.answer


@pytest.fixture
def page() -> Page:
    return Page(sr.drill(STAGE, seed=4))


def test_neither_answer_nor_reason_nor_table_is_sent_before_an_answer_is_given(page: Page) -> None:
    """Over a whole round: what the page holds while it asks is the question, its choices and what to type."""
    for _ in range(12):
        question = page.bench.drill.question
        assert question is not None
        assert set(page.state["question"]) == {"key", "text", "wanted", "choices"}
        assert page.state["marked"] is None and page.state["table"] is None
        assert question.why not in json.dumps(page.state)
        assert page.give(page.answer())["ok"]
        assert page.state["marked"]["right"] and page.state["question"]["text"] == question.text
        assert page.send("next")["ok"]


def test_the_truth_table_is_the_kits_with_the_row_in_question(page: Page) -> None:
    page.give(page.answer())
    told = page.state["table"]
    table = truth_table(sr.load_circuit(STAGE))
    assert len(told["rows"]) == len(table.rows) and told["heads"][0] == "state"
    state = page.state["question"]["key"].split("|")[2]
    assert told["rows"][told["at"]][0] == state.replace("_", " ")
    assert told["rows"][told["at"]][-1] == table.row(state).regions[-1].word


def test_a_wrong_answer_is_told_with_the_right_one_and_comes_again(page: Page) -> None:
    missed = page.state["question"]
    question = page.bench.drill.question
    assert question is not None
    wrong = next((c for c in question.choices if c != question.answer), "77" if question.kind == "reads" else "none")
    wrong = "Q1" if question.kind == "conducts" and question.answer == "none" else wrong
    assert page.give(wrong)["ok"]
    assert not page.state["marked"]["right"] and page.state["marked"]["answer"] == question.answer
    assert page.state["boxes"][0] == 1 and page.state["score"] == "0 of 1 right"
    again = []
    for _ in range(6):
        page.send("next")
        again.append(page.state["question"]["key"])
        page.give(page.answer())
    assert missed["key"] in again


def test_what_is_no_answer_is_told_and_nothing_is_counted(page: Page) -> None:
    told = page.give("?!")
    assert not told["ok"] and "type" in told["said"]
    assert page.state["marked"] is None and page.state["score"] == "0 of 0 right"


def test_a_repeat_and_an_answer_to_a_question_that_is_gone_count_nothing(page: Page) -> None:
    key = page.state["question"]["key"]
    assert page.give(page.answer(), uid="a" * 32)["ok"] and page.give("?", uid="a" * 32)["ok"]
    assert page.state["score"] == "1 of 1 right"
    assert not page.give(page.answer())["ok"], "it is not asked yet"
    page.send("next")
    assert not page.send("answer", "0", card=key)["ok"] and page.state["score"] == "1 of 1 right"


def test_a_learners_answers_are_kept_before_they_are_told(tmp_path: Path) -> None:
    book = Casebook(tmp_path / "book.sqlite")
    page = Page(sr.drill(STAGE, seed=4, learner="Ada", casebook=book))
    page.give(page.answer())
    (lesson,) = book.lessons("Ada", "drill")
    assert lesson.body["right"] and lesson.at <= datetime.now(UTC)


def test_it_ends_when_everything_is_known(page: Page) -> None:
    for _ in range(200):
        if page.state["question"] is None:
            break
        page.give(page.answer())
        page.send("next")
    assert page.state["question"] is None and "known" in page.state["done"]
    assert not page.send("answer", "0", card="x")["ok"]


def test_the_saved_copy_says_what_was_asked_and_answered(page: Page) -> None:
    text = page.state["question"]["text"]
    page.give(page.answer())
    words = page.bench._words()
    assert text in words["text/plain"] and "1 of 1 right" in words["text/plain"] and "<table" in words["text/html"]


def test_the_page_is_one_module_and_stays_inside_the_screen() -> None:
    assert static.screen_esm("drill").count("export default { render };") == 1
    for selector in selectors(static.screen_css("drill")):
        assert "shouldread" in selector
