"""A question of a drill: its text, its answer in the healthy band by construction, and how an answer is marked."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from shouldread.diagnosis import Band
from shouldread.errors import ReadingError, RequestError
from shouldread.meter import Reading

# how far from the healthy band a rounded answer out of one's head still counts as right (own judgement)
NEAR_VOLTS, NEAR_SHARE = 0.05, 0.05
LETTERS = "ABCDEFGH"


@dataclass(frozen=True, slots=True)
class Marked:
    """What became of an answer; its truth value is ``right``. ``answer`` is the right one, ``why`` the reason."""

    right: bool
    said: str
    answer: str
    why: str

    def __bool__(self) -> bool:
        return self.right

    def __str__(self) -> str:
        return f"{'Right' if self.right else 'Not so'}: {self.answer}. {self.why}"


@dataclass(frozen=True, slots=True)
class Question:
    """``key`` names the question for good; ``choices`` are empty where the answer is typed.

    ``kind``: reads, level, region, conducts or odd. ``band`` is the healthy band of a ``reads`` question.
    """

    key: str
    kind: str
    text: str
    answer: str
    why: str
    choices: tuple[str, ...] = ()
    band: Band | None = None

    def mark(self, text: str) -> Marked:
        """Mark an answer. Raises RequestError saying what to type when it is none at all."""
        said = text.strip()
        if not said:
            raise RequestError(f"an answer is missing: {self.wanted}", value=text)
        makers = {"reads": self._reads, "conducts": self._conducts}
        right = makers.get(self.kind, self._chosen)(said)
        return Marked(right, said, self.answer, self.why)

    @property
    def state(self) -> str:
        """The state of the stage that is asked about."""
        return self.key.split("|")[2]

    @property
    def wanted(self) -> str:
        """What is to be typed."""
        if self.kind == "reads":
            return "type what the meter shows, such as 2.3 or 15m"
        if self.kind == "conducts":
            return "type the names, such as Q1 Q2, or none"
        letters = ", ".join(LETTERS[: len(self.choices)])
        return f"type one of {letters}, or its words"

    def _reads(self, said: str) -> bool:
        assert self.band is not None
        try:
            reading = Reading("X", said, "volts")
        except (ReadingError, ValueError) as error:
            raise RequestError(f"{said!r} is no reading: {self.wanted}", value=said) from error
        below, above = self.band.low - reading.value, reading.value - self.band.high
        return max(below, above) <= NEAR_VOLTS + NEAR_SHARE * abs(self.band.typical)

    def _conducts(self, said: str) -> bool:
        words = {w.casefold() for w in re.split(r"[\s,;+]+|\band\b", said) if w}
        wanted = {w.casefold() for w in re.split(r"[\s,]+", self.answer)}
        return words == wanted

    def _chosen(self, said: str) -> bool:
        folded = said.rstrip(".)").casefold()
        for letter, choice in zip(LETTERS, self.choices, strict=False):
            if folded in (letter.casefold(), choice.casefold(), choice.casefold().partition(" reads ")[0]):
                return choice == self.answer
        raise RequestError(f"{said!r} is none of the choices: {self.wanted}", value=said, known=self.choices)

    def __str__(self) -> str:
        rows = [f"  {letter}. {choice}" for letter, choice in zip(LETTERS, self.choices, strict=False)]
        return "\n".join([self.text, *rows, f"({self.wanted})"])


def reads(key: str, place: str, given: str, band: Band, why: str) -> Question:
    """What should a place read?"""
    return Question(key, "reads", f"What should {place} read {given}?", band.words, why, band=band)


def one_of(key: str, kind: str, text: str, answer: str, choices: Sequence[str], why: str) -> Question:
    """One right answer among choices."""
    return Question(key, kind, text, answer, why, tuple(choices))


def as_shown(place: str, text: str) -> str:
    """A reading as a choice: ``EN reads 2.301 V``."""
    return f"{place} reads {text}"
