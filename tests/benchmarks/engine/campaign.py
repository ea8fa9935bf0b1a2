"""Random boards with faults against ngspice, and a larger number alone; each that stands apart gets a name."""

from collections import Counter
from collections.abc import Iterator, Mapping

import numpy as np
import shouldread as sr
from shouldread.circuit import Circuit
from shouldread.reference import Opinion, second_opinion
from shouldread.solve import Solution

from tests.benchmarks.engine.boards import ill_board
from tests.benchmarks.engine.ridge import breaks_a_tie, furthest, hangs_on_picoamps, moved_by_picoamps, on_a_ridge

AGREES, GAVE_UP = "agree", "ngspice gives up"
TWO_WAYS = "several answers are there, ngspice takes another"
STARTED = "ngspice by itself takes another answer, started from the kit's it stays: the kit named one only"
RIDGE = "ngspice stands on a metastable point, which the kit leaves"
RUNS_AWAY = "ngspice stands on a metastable point, from which the board runs away: no operating point in the kit"
HANGS = "no operating point in the kit, and one in ngspice that picoamps move by more than 10 mV"
RESTLESS = "no steady state in the kit: nothing to compare"
LOOP, FAILED = "a loop of ideal sources, which the kit says", "the kit finds no operating point and says so"
NEITHER = "neither finds an operating point, both say so"
FAR = "a source without limit drives a node beyond 10 kV"
BEYOND = "more than 100 A: an ideal source straight across a junction"
LOOSE = "apart only by what a few picoamps or the rounding of a current decide, which is ngspice's own bar"
UNTIED = "ngspice leaves microvolts across an ideal inductor or source"
APART = "apart"
MOST_AMPS, MOST_VOLTS = 100.0, 1e4
WORDS = ("solved", "floating", "several", "no steady state", "failed")


def sorted_out(opinion: Opinion, circuit: Circuit) -> str:
    """The name of what a comparison came to."""
    word = opinion.kit.outcome.word
    if word == "no steady state":
        return RESTLESS
    if word == "failed":
        return _failed(opinion, circuit)
    if opinion.outcome.word == "failed":
        return GAVE_UP
    if opinion.agrees and opinion.outcome.word != "several":
        return AGREES
    if opinion.agrees:
        if word == "several":
            return TWO_WAYS
        return _out_of_bounds(opinion, opinion.outcome.others[0]) or (
            RIDGE if on_a_ridge(circuit, opinion.outcome.others[0]) else STARTED
        )
    if word == "several" and any(_stands_there(opinion, answer) for answer in opinion.kit.outcome.others):
        return TWO_WAYS
    return _apart(opinion, circuit)


def _out_of_bounds(opinion: Opinion, volts: Mapping[str, float]) -> str:
    """Why a board is beyond what either engine is for, "" if it is not; ``volts``: where ngspice stands."""
    if max((abs(i) for i in opinion.kit.pin_amps.values()), default=0.0) > MOST_AMPS:
        return BEYOND
    return FAR if max((abs(v) for v in volts.values() if v == v), default=0.0) > MOST_VOLTS else ""


def _failed(opinion: Opinion, circuit: Circuit) -> str:
    """Why the kit has no answer."""
    if "loop" in opinion.kit.outcome.sentence:
        return LOOP
    if opinion.outcome.word == "failed":
        return NEITHER
    if max(map(abs, opinion.volts.values()), default=0.0) > MOST_VOLTS:
        return FAR
    if on_a_ridge(circuit, opinion.volts):
        return RUNS_AWAY
    return HANGS if hangs_on_picoamps(circuit, opinion.volts) else FAILED


def _apart(opinion: Opinion, circuit: Circuit) -> str:
    """Why two answers differ."""
    if beyond := _out_of_bounds(opinion, opinion.volts):
        return beyond
    if furthest(circuit) > MOST_VOLTS:
        return FAR
    if on_a_ridge(circuit, opinion.volts):
        return RIDGE
    if breaks_a_tie(circuit, opinion.volts):
        return UNTIED
    loose = moved_by_picoamps(circuit)
    by_little = {n: 1e-6 + 1e-6 * abs(opinion.kit.volts[n]) + loose.get(n, 0.0) for n in opinion.difference}
    return LOOSE if all(abs(d) <= by_little[n] for n, d in opinion.difference.items()) else APART


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
        name = sorted_out(opinion, board.circuit)
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
