"""Spaced repetition: when a question comes again, out of the learner's own answers.

Five boxes as in S. Leitner, "So lernt man lernen" (Herder, 1972; from memory): a right answer moves a question
one box on, a wrong one back to the first. How long each box waits is our own setting, twice as long each time.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

BOXES = 5
WAITS = tuple(timedelta(days=d) for d in (0, 1, 2, 4, 8))  # of box 1 to 5
BETWEEN = 3  # other questions before one that was missed comes again


@dataclass(frozen=True, slots=True)
class Card:
    """A question's place: its box, when it was last asked, how often it was missed."""

    key: str
    box: int = 1
    last: datetime | None = None
    missed: int = 0

    def after(self, right: bool, at: datetime) -> "Card":
        """The card after an answer."""
        box = min(self.box + 1, BOXES) if right else 1
        return Card(self.key, box, at, self.missed + (not right))

    def due(self, now: datetime) -> bool:
        """Whether it is to be asked again."""
        return self.last is not None and now >= self.last + WAITS[self.box - 1]


def boxes(answers: Iterable[tuple[str, bool, datetime]]) -> Mapping[str, Card]:
    """Where each question stands after all answers, given oldest first."""
    cards: dict[str, Card] = {}
    for key, right, at in answers:
        cards[key] = cards.get(key, Card(key)).after(right, at)
    return cards


def next_card(keys: Sequence[str], cards: Mapping[str, Card], recent: Sequence[str], now: datetime) -> str | None:
    """The question to ask now: one's own mistakes first, then what is due, then new ones; None when all is known.

    ``keys`` in the order in which new ones are to come; ``recent``: what was just asked, the last one last.
    """
    rest = set(recent[-BETWEEN:])
    due = [cards[k] for k in keys if k in cards and cards[k].due(now)]
    fresh = [k for k in keys if k not in cards]
    waiting = sorted(due, key=lambda c: (c.box, -c.missed, c.last or now))
    for key in (*(c.key for c in waiting), *fresh):
        if key not in rest:
            return key
    return waiting[0].key if waiting else None
