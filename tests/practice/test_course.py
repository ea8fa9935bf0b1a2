"""The course: topics in order, progress out of the casebook, and a record to print."""

from pathlib import Path

import pytest
import shouldread as sr
from shouldread.practice import course, record, topics
from shouldread.practice.course import FOUND, KNOWN


@pytest.fixture
def book(tmp_path: Path) -> sr.Casebook:
    return sr.Casebook(tmp_path / "book.sqlite")


def test_topics_name_fragments_that_are_there() -> None:
    names = set(sr.shelf().names)
    assert len(topics()) >= 6 and {n for t in topics() for n in t.circuits} <= names
    assert [t.step for t in topics()] == sorted(t.step for t in topics())


def found(book: sr.Casebook, circuit: str, step: int, score: float) -> None:
    book.learn("Ana", "exercise", {"circuit": circuit, "step": step, "score": score})


def test_a_topic_is_done_by_answers_and_by_faults_found_by_reading(book: sr.Casebook) -> None:
    c = course("Ana", book)
    first = topics()[0]
    d = c.drill(seed=1)
    while d.question is not None and not c.progress[0].known >= KNOWN * c.progress[0].questions:
        d.answer(str(d.question.band.typical) if d.question.band is not None else d.question.answer)
    assert c.now == first and c.progress[0].known and not c.progress[0].done
    found(book, first.circuits[0], first.step, 0.0)  # a guess counts for nothing
    found(book, first.circuits[0], first.step + 1, 0.9)
    assert c.progress[0].found == 0
    for _ in range(FOUND):
        found(book, first.circuits[0], first.step, 0.9)
    assert c.progress[0].done and c.now == topics()[1]
    assert course("Ben", book).now == first


def test_the_exercise_of_the_topic_is_kept_when_it_ends(book: sr.Casebook) -> None:
    c = course("Ana", book)
    e = c.exercise(seed=5)
    assert e.circuit.name in topics()[0].circuits and e.step == topics()[0].step
    e.predict(e.circuit.nodes[1], "99")
    e.measure(e.circuit.nodes[1])
    assert not book.lessons("Ana", "exercise")
    e.give_up()
    e.give_up()
    (kept,) = book.lessons("Ana", "exercise")
    assert kept.body["end"] == "given up" and kept.body["predicted"] == [0, 1] and kept.body["minutes"] == 20.5


def test_the_record_is_text_and_a_page_to_print(book: sr.Casebook) -> None:
    """Everything in the page is escaped: a learner's name may hold any sign."""
    name = "<b>Ana & Co</b>"
    d = sr.drill("npn_inverter_enable", seed=2, learner=name, casebook=book)
    for _ in range(2):
        assert d.question is not None
        d.answer("99" if d.question.kind == "reads" else d.question.answer)
    e = sr.exercise(circuit="two_supply_and", hidden="R1 open", seed=3, learner=name, casebook=book)
    e.measure("X")
    e.measure("B1")
    e.measure("V12")
    e.name("R1 open")
    told = record(name, book)
    assert "two_supply_and, step 1: named" in str(told) and "X volts: " in str(told)
    page = told.html()
    assert "<b>Ana" not in page and "&lt;b&gt;Ana &amp; Co&lt;/b&gt;" in page
    assert page.count("<tr>") == 1 + len(topics()) and "default-src 'none'" in page
    assert told.answers[1] == 2 and len(told.exercises) == 1 and told.exercises[0].score > 0.5
