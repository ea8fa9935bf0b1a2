"""Random boards with faults against ngspice, and a larger number alone; each that stands apart gets a name."""

from collections import Counter
from collections.abc import Iterator

import numpy as np
import shouldread as sr
from shouldread.reference import Opinion, second_opinion
from shouldread.solve import Solution

from tests.benchmarks.engine.boards import ill_board

AGREES, GAVE_UP = "agree", "ngspice gives up"
TWO_WAYS = "several answers are there, ngspice takes another"
STARTED = "ngspice by itself takes another answer, started from the kit's it stays: the kit named one only"
RESTLESS = "no steady state in the kit: nothing to compare"
LOOP, FAILED = "a loop of ideal sources, which the kit says", "the kit finds no operating point and says so"
BEYOND = "more than 100 A: an ideal source straight across a junction"
LOOSE = "apart only by what hangs on more than 100 megohm"
APART = "apart"
MOST_AMPS = 100.0
LOOSE_AMPS = 1e-7  # A: below it a difference of amps is one of leakage
WORDS = ("solved", "floating", "several", "no steady state", "failed")


def sorted_out(opinion: Opinion) -> str:
    """The name of what a comparison came to."""
    word = opinion.kit.outcome.word
    if word == "failed":
        return LOOP if "loop" in opinion.kit.outcome.sentence else FAILED
    if word == "no steady state":
        return RESTLESS
    if opinion.outcome.word == "failed":
        return GAVE_UP
    if opinion.agrees:
        return (TWO_WAYS if word == "several" else STARTED) if opinion.outcome.word == "several" else AGREES
    if word == "several" and any(_stands_there(opinion, answer) for answer in opinion.kit.outcome.others):
        return TWO_WAYS
    if max((abs(i) for i in opinion.kit.pin_amps.values()), default=0.0) > MOST_AMPS:
        return BEYOND
    volts = all(abs(d) <= 1e-6 + 1e-6 * abs(opinion.kit.volts[n]) for n, d in opinion.difference.items())
    amps = max((abs(d) for d in opinion.amps_difference.values()), default=0.0)
    return LOOSE if volts and word == "floating" and amps < LOOSE_AMPS else APART


def _stands_there(opinion: Opinion, answer: object) -> bool:
    assert isinstance(answer, dict)
    known = [n for n in opinion.volts if opinion.volts[n] == opinion.volts[n] and n in answer]
    return all(abs(opinion.volts[n] - answer[n]) <= 1e-6 + 1e-6 * abs(answer[n]) for n in known)


def against_ngspice(first: int, count: int) -> tuple[Counter[str], list[str]]:
    """How many boards came to what, and the boards that are apart, by seed and faults."""
    found: Counter[str] = Counter()
    apart = []
    for seed in range(first, first + count):
        board = ill_board(seed)
        opinion = second_opinion(board.circuit)
        name = sorted_out(opinion)
        found[name] += 1
        if name in (APART, STARTED, FAILED):
            words = opinion.kit.outcome.sentence if name == FAILED else opinion.outcome.sentence
            apart.append(
                f"seed {seed} ({len(board.circuit.nodes) - 1} nodes; {' + '.join(board.faults)}): {name}; {words}"
            )
    return found, apart


def alone(first: int, count: int) -> tuple[Counter[str], list[str]]:
    """Outcomes of many boards, and what failed without saying so."""
    found: Counter[str] = Counter()
    silent = []
    for seed in range(first, first + count):
        solution = sr.solve(ill_board(seed).circuit)
        found[solution.outcome.word] += 1
        silent += [f"seed {seed}: {words}" for words in unsaid(solution)]
    return found, silent


def unsaid(solution: Solution) -> Iterator[str]:
    """What an answer fails to say: a node without volts that is not told to float, an outcome of no known sort."""
    word = solution.outcome.word
    if word not in WORDS or not solution.outcome.sentence:
        yield f"outcome {word!r}"
    if word in ("failed", "no steady state"):
        return
    for node, volts in solution.volts.items():
        if not np.isfinite(volts) and node not in solution.outcome.floating:
            yield f"{node} has no volts and is not said to float"
    for pin, amps in solution.pin_amps.items():
        if not np.isfinite(amps):
            yield f"{pin} carries {amps} A"
