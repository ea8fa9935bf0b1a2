"""Other roads over the same hidden board: the kit's own next probes, a random walk, the blind guess."""

import random
from dataclasses import dataclass
from typing import Protocol

from shouldread.circuit import Circuit
from shouldread.diagnosis import Diagnosis
from shouldread.practice.act import Toll
from shouldread.practice.telling import spots

SURE = 0.95  # share of one group at which a random prober stops, as the kit does
MOST = 40  # readings after which a road ends by naming


class Answer(Protocol):
    """What naming gives, as far as a road needs it."""

    @property
    def score(self) -> float:
        """From 0, a guess, to 1."""

    def __bool__(self) -> bool: ...


class Board(Protocol):
    """What a road needs of an exercise."""

    circuit: Circuit

    @property
    def toll(self) -> Toll:
        """Minutes and risk so far."""

    @property
    def diagnosis(self) -> Diagnosis:
        """What the readings so far leave."""

    def measure(self, place: str, setting: str = "volts", state: str | None = None) -> str:
        """What the display shows."""

    def name(self, fault: str) -> Answer:
        """Whether that is it."""


@dataclass(frozen=True, slots=True)
class Road:
    """How a road went: readings taken, parts named, whether the first named was right, its score, and its toll."""

    readings: int
    named: int
    right_first: bool
    score: float
    toll: Toll

    def __str__(self) -> str:
        how = "first" if self.right_first else f"at the {self.named}. part" if self.named else "never"
        return f"{self.readings} readings, {self.toll}, right {how}"


def follow(board: Board) -> Road:
    """The kit's own next probe each time, until it says stop; then its first group, the next one if that is wrong."""
    told, taken = board.diagnosis, 0
    while told.next_probe is not None and taken < MOST:
        probe = told.next_probe
        shown = board.measure(probe.at, probe.setting, probe.state)
        told = told.also(f"{probe.at} {probe.setting} {shown} @{probe.state}")
        taken += 1
    return _end(board, told, taken)


def wander(board: Board, dice: random.Random) -> Road:
    """Any place on any setting in any state, each once, until one group is all but sure; then as the kit would name."""
    places = spots(board.circuit)
    dice.shuffle(places)
    told, taken = board.diagnosis, 0
    for place, setting, state in places[:MOST]:
        if told.groups and told.groups[0].share >= SURE:
            break
        shown = board.measure(place, setting, state)
        told = told.also(f"{place} {setting} {shown}" + (f" @{state}" if state else ""))
        taken += 1
    return _end(board, told, taken)


def blind(board: Board) -> Road:
    """No reading: the most common fault, then the next."""
    return _end(board, board.diagnosis, 0)


def _end(board: Board, told: Diagnosis, taken: int) -> Road:
    """Name the groups in their order until one is right."""
    for number, group in enumerate(told.groups, 1):
        answer = board.name(group.faults[0])
        if answer:
            return Road(taken, number, number == 1, answer.score, board.toll)
    return Road(taken, 0, False, 0.0, board.toll)
