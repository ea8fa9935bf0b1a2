"""Where a fault shows, what looks like it there, and what a board reads under what is done to it."""

import math
from collections.abc import Iterable

from shouldread.circuit import Circuit, Remembered
from shouldread.diagnosis import Band, Diagnosis, Expectation, expect
from shouldread.faults import Fault
from shouldread.meter import Meter

MOST_PLACES = 6  # of one step: a technician reads two or three, not thirty
IN_PLAY = 0.02  # of the likeliest suspect's share: below it readings have ruled a fault out
KEPT = 12  # expectations kept, for a board that is asked about fault by fault
_told: Remembered[Expectation] = Remembered(KEPT)


def told_of(circuit: Circuit, condition: str, state: str | None, setting: str, meter: Meter) -> Expectation:
    """What the board should read under a condition; the same answer when it is asked for again."""

    def made() -> Expectation:
        board = circuit.with_condition(condition) if condition else circuit
        return expect(board, state=state, setting=setting, meter=meter)

    return _told.get(circuit, (condition, state, setting, meter), made)


def tells(right: Band, wrong: Band) -> bool:
    """Whether a reading that is typical of a right suspicion is none that a wrong one gives."""
    return not (math.isnan(right.typical) or math.isnan(wrong.typical)) and not wrong.holds(right.typical)


def clarity(right: Band, wrong: Band) -> int:
    """0: the bands do not tell. 1: they do, typically. 2: neither's typical lies in the other. 3: they do not touch."""
    if not tells(right, wrong):
        return 0
    if right.holds(wrong.typical):
        return 1
    return 3 if right.high < wrong.low or wrong.high < right.low else 2


def shown(circuit: Circuit, fault: str, state: str | None, meter: Meter) -> tuple[Expectation, list[str]]:
    """What should be read, and where the fault shows: in the state asked for, else in the first where it shows."""
    first: tuple[Expectation, list[str]] | None = None
    for name in circuit.states if state is None else (state,):
        base = told_of(circuit, "", name, "volts", meter)
        telling = _telling(base, circuit, fault)
        if telling:
            return base, telling
        first = first or (base, telling)
    assert first is not None, "every circuit has a state"
    return first


def _telling(told: Expectation, circuit: Circuit, fault: str) -> list[str]:
    """The nodes that this fault moves most, in the order of the board."""
    moved = []
    for node in circuit.nodes:
        if node == "0":
            continue
        good, bad = told[node].healthy, told[node].under(fault)
        gap = abs(good.typical - bad.typical)
        if not math.isnan(gap) and not good.holds(bad.typical):
            moved.append((gap, node))
    top = {node for _, node in sorted(moved, reverse=True)[:MOST_PLACES]}
    return [node for node in circuit.nodes if node in top]


def alike(told: Expectation, circuit: Circuit, fault: Fault, telling: list[str]) -> tuple[str, ...]:
    """Faults that read like this one at every node before anything is lifted or bridged.

    When there is none, those that show the same symptom: alike at the nodes that this fault moves.
    """
    if not telling:
        return ()
    rest = [node for node in circuit.nodes if node != "0" and node not in telling]
    others = [f for f in circuit.faults if not f.startswith(fault.name)]
    loudest = sorted(telling, key=lambda at: -abs(told[at].healthy.typical - told[at].under(str(fault)).typical))
    for place in loudest:  # most faults part company at the first one
        others = _same_at(told, place, str(fault), others)
    loud = loudest[0]  # a fault that shows nothing there at its usual degree explains nothing
    others = [f for f in others if not told[loud].healthy.holds(told[loud].under(f).typical)]
    everywhere = others
    for place in rest:
        everywhere = _same_at(told, place, str(fault), everywhere)
    return tuple(everywhere or others)


def _same_at(told: Expectation, place: str, fault: str, others: list[str]) -> list[str]:
    """Those of the other faults whose band at a place overlaps this fault's."""
    if not others:
        return []
    own = told[place].under(fault)
    bands = told[place].under_each(others)
    return [other for other, band in bands.items() if band.low <= own.high and own.low <= band.high]


def in_play(read: Diagnosis, fault: Fault) -> tuple[tuple[str, ...], str]:
    """What else the readings so far leave, and in words how this fault stands among it."""
    most = read.suspects[0].share if read.suspects else 0.0
    left = [s.fault for s in read.suspects if s.share >= IN_PLAY * most and s.share > 0]
    others = tuple(f for f in left if not f.startswith(fault.name))
    if read.healthy >= max(most, 1e-9):
        return others, "The readings so far fit a board with nothing wrong here."
    if fault.name not in left:
        return others, f"The readings so far speak against {fault.name}; first among what they leave is {left[0]}."
    return others, ("The readings so far leave this one alone." if not others else "")


def hull(bands: Iterable[Band]) -> Band:
    """One band over all: where a reading would lie if it were any of the others."""
    rows = list(bands)
    low = min((b.low for b in rows if not math.isnan(b.low)), default=math.nan)
    high = max((b.high for b in rows if not math.isnan(b.high)), default=math.nan)
    middle = sorted(b.typical for b in rows if not math.isnan(b.typical))
    return Band.of(low, middle[len(middle) // 2] if middle else math.nan, high, "volts")
