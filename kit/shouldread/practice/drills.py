"""Drills: short questions on what a stage should read, again and again on what one has missed."""

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import final

from shouldread.casebook import Casebook
from shouldread.circuit import Circuit, load_circuit
from shouldread.errors import RequestError
from shouldread.meter import meter as profile_of
from shouldread.practice.asking import Asking
from shouldread.practice.boxes import BOXES, Card, boxes, next_card
from shouldread.practice.hiding import circuits_on
from shouldread.practice.question import Marked, Question
from shouldread.practice.truth_table import TruthTable


def _now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Kept:
    """Where a learner's answers go: the casebook, and the name; without a name nowhere."""

    book: Casebook | None = None
    learner: str = ""

    def answers(self) -> list[tuple[str, bool, datetime]]:
        """All answers of the learner so far, oldest first."""
        if self.book is None:
            return []
        lessons = self.book.lessons(self.learner, "drill")
        return [(str(one.body["card"]), bool(one.body["right"]), one.at) for one in lessons]

    def keep(self, question: Question, marked: Marked) -> None:
        """Write an answer down before it is told."""
        if self.book is not None:
            self.book.learn(self.learner, "drill", {"card": question.key, "right": marked.right, "said": marked.said})


@final
class Drill:
    """One question after the other: read ``question``, give ``answer(text)``. Mistakes come again, right ones later.

    ``question`` is None once everything is known and nothing is due.
    """

    def __init__(
        self, askings: Sequence[Asking], dice: random.Random, kept: Kept, clock: Callable[[], datetime]
    ) -> None:
        self._askings = {asking.circuit.name: asking for asking in askings}
        keys = [key for asking in askings for key in asking.keys]
        dice.shuffle(keys)
        self._keys = keys
        self._kept = kept
        self._clock = clock
        self._cards = dict(boxes(kept.answers()))
        self._recent: list[str] = []
        self.answers: list[Marked] = []
        self.question = self._pick()

    def answer(self, text: str) -> Marked:
        """Mark an answer, keep it, and go on to the next question. Raises RequestError for what is no answer."""
        if self.question is None:
            raise RequestError("nothing is asked: everything is known for today")
        marked = self.question.mark(text)
        self._kept.keep(self.question, marked)
        key = self.question.key
        self._cards[key] = self._cards.get(key, Card(key)).after(marked.right, self._clock())
        self._recent.append(key)
        self.answers.append(marked)
        self.question = self._pick()
        return marked

    def table(self, question: Question) -> TruthTable:
        """The truth table of the stage that a question is about: worth a look once it is answered."""
        return self._askings[question.key.partition("|")[0]].table

    @property
    def boxes(self) -> tuple[int, ...]:
        """How many of the questions lie in each of the five boxes."""
        mine = [self._cards[k] for k in self._keys if k in self._cards]
        return tuple(sum(card.box == number for card in mine) for number in range(1, BOXES + 1))

    def _pick(self) -> Question | None:
        while (key := next_card(self._keys, self._cards, self._recent, self._clock())) is not None:
            question = self._askings[key.partition("|")[0]].question(key)
            if question is not None:
                return question
            self._keys.remove(key)
        return None

    def __str__(self) -> str:
        right = sum(map(bool, self.answers))
        asked = f"{right} of {len(self.answers)} right; boxes 1 to {BOXES}: {', '.join(map(str, self.boxes))}"
        return f"{self.question if self.question is not None else 'Everything is known for today.'}\n{asked}"

    def __repr__(self) -> str:
        return f"Drill({', '.join(self._askings)}, {len(self.answers)} answers)"


def drill(
    circuit: Circuit | str | None = None,
    topic: str | None = None,
    seed: int | None = None,
    *,
    learner: str = "",
    casebook: Casebook | None = None,
    meter: str = "handheld",
    clock: Callable[[], datetime] = _now,
) -> Drill:
    """Questions on a circuit, or on all stages of a ``topic`` (none: enable logic): what should it read, and why?

    With a ``learner`` every answer is kept in the casebook, and one's own mistakes come again first. ``clock`` tells
    the time. Raises UnknownNameError for a circuit or topic that is not there.

    >>> import shouldread as sr
    >>> d = sr.drill("npn_inverter_enable", seed=4)
    >>> d.question.kind in ("reads", "level", "region", "conducts", "odd")
    True
    """
    boards = [load_circuit(circuit)] if circuit is not None else circuits_on(topic or "enable")
    return drill_on(boards, seed, learner=learner, casebook=casebook, meter=meter, clock=clock)


def drill_on(
    boards: Sequence[Circuit],
    seed: int | None,
    *,
    learner: str = "",
    casebook: Casebook | None = None,
    meter: str = "handheld",
    clock: Callable[[], datetime] = _now,
) -> Drill:
    """Questions on the given stages."""
    profile = profile_of(meter)
    kept = Kept(casebook if casebook is not None else Casebook(), learner) if learner else Kept()
    return Drill([Asking(board, profile) for board in boards], random.Random(seed), kept, clock)
