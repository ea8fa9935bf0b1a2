"""The figures: log score, sets, calibration, probes to the end, wrong readings, two faults, unreadable values."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import combinations

import numpy as np
import shouldread as sr
from numpy.typing import NDArray
from shouldread.diagnosis import Diagnosis

from tests.benchmarks.diagnosis.baselines import (
    HEALTHY,
    NONE,
    Cloud,
    by_bands,
    by_nearest,
    by_particles,
    of_the_truth,
)
from tests.benchmarks.diagnosis.boards import RealBoard, boards
from tests.benchmarks.diagnosis.referee import Referee
from tests.benchmarks.diagnosis.stages import Stage, known
from tests.benchmarks.diagnosis.worlds import OTHER, World

Shares = Mapping[str, float]
SURE, WRONG_BY = 0.95, 0.6
CHANCES = 400  # draws of what chance alone does to a calibration error
ALIKE = 0.3  # V: symptoms no farther apart count as one
REFEREED = 600  # boards that the referee is asked about


@dataclass(slots=True)
class Scored:
    """What one method said of each board: share of the truth, and the smallest set that holds 95 %; ``ill``: it has a fault."""

    truth: list[float] = field(default_factory=list)
    covered: list[bool] = field(default_factory=list)
    mass: list[float] = field(default_factory=list)
    size: list[int] = field(default_factory=list)
    top: list[float] = field(default_factory=list)
    right: list[bool] = field(default_factory=list)
    ill: list[bool] = field(default_factory=list)

    def add(self, shares: Shares, board: RealBoard) -> None:
        """Count one board."""
        name = " + ".join(board.faults) if board.faults else HEALTHY
        order = sorted(shares, key=lambda k: -shares[k])
        held = np.cumsum([shares[k] for k in order])
        size = int(np.searchsorted(held, 0.95) + 1)
        self.truth.append(-float(np.log(of_the_truth(shares, board.faults))))
        self.covered.append(name in order[:size])
        self.mass.append(float(held[min(size, len(held)) - 1]))
        self.size.append(size)
        self.top.append(float(shares[order[0]]))
        self.right.append(order[0] == name)
        self.ill.append(bool(board.faults))

    def calibration(self) -> float:
        """Expected calibration error of the leading hypothesis, ten bins."""
        return _off(np.array(self.top), np.array(self.right))

    def by_chance(self, draw: np.random.Generator) -> float:
        """What that error would be, nine times in ten at most, on so many boards if every share were exactly right."""
        top = np.array(self.top)
        return float(np.quantile([_off(top, draw.random(len(top)) < top) for _ in range(CHANCES)], 0.9))


def _off(top: NDArray[np.float64], right: NDArray[np.bool_]) -> float:
    bins = np.minimum((top * 10).astype(int), 9)
    return float(sum(abs(top[bins == k].mean() - right[bins == k].mean()) * (bins == k).mean() for k in set(bins)))


def shares_of(d: Diagnosis) -> dict[str, float]:
    """Shares of everything, by name."""
    return {HEALTHY: d.healthy, NONE: d.none_of_these, **{s.fault: s.share for s in d.suspects}}


def scores(
    stage: Stage, of: Cloud, made: Sequence[RealBoard], start: Diagnosis, referee: Referee | None
) -> dict[str, Scored]:
    """All methods on the same boards with all places read; the referee on the first of them."""
    methods: dict[str, Callable[[RealBoard], Shares]] = {
        "shouldread": lambda board: shares_of(start.also(board.text(stage.places))),
        "particles": lambda board: by_particles(of, _shown(board, stage), list(range(len(stage.places)))),
        "independent bands": lambda board: by_bands(of, _shown(board, stage), list(range(len(stage.places)))),
        "bands of tolerances and display alone": lambda board: by_bands(
            of, _shown(board, stage), list(range(len(stage.places))), plain=True
        ),
        "nearest entry": lambda board: by_nearest(of, _shown(board, stage), list(range(len(stage.places)))),
    }
    out = {name: Scored() for name in methods}
    for board in made:
        for name, method in methods.items():
            out[name].add(method(board), board)
    if referee is not None:
        refereed = out["the kit's model integrated by draws"] = Scored()
        for board in made[:REFEREED]:
            refereed.add(referee.shares(_shown(board, stage)), board)
    return out


def _shown(board: RealBoard, stage: Stage) -> np.ndarray:
    return np.array([board.shown[p] for p in stage.places])


@dataclass(slots=True)
class Road:
    """Probing to the end: how many probes, whether the group was right, gain promised, and the bits of doubt left after
    the first reading and each probe."""

    probes: int = 0
    right: bool = False
    promised: float = 0.0
    left: list[float] = field(default_factory=list)

    @property
    def fell(self) -> float:
        """Bits of doubt that the probes took away."""
        return self.left[0] - self.left[-1]


def entropy(d: Diagnosis) -> float:
    """Bits that are left between groups."""
    parts = np.array([d.healthy, d.none_of_these, *(g.share for g in d.groups)])
    parts = parts[parts > 0]
    return float(-(parts * np.log2(parts)).sum())


def road(start: Diagnosis, stage: Stage, board: RealBoard, choose: Callable[[Diagnosis, list[str]], str]) -> Road:
    """Read the symptom, then probe as ``choose`` says until one group is sure or nothing is left to read."""
    d, left, gone = start.also(board.text([stage.symptom])), [p for p in stage.places if p != stage.symptom], Road()
    gone.left.append(entropy(d))
    while left and max(g.share for g in d.groups) < SURE:
        place = choose(d, left)
        if not place:
            break
        gain = next((p.gain for p in d.next_probes if _volts_at(p, place)), 0.0)
        d = d.also(board.text([place]))
        left.remove(place)
        gone.probes += 1
        gone.promised += gain
        gone.left.append(entropy(d))
    gone.right = bool(set(d.groups[0].faults) & set(board.faults))
    return gone


def least(start: Diagnosis, stage: Stage, made: Sequence[RealBoard]) -> float:
    """Fewer probes nobody needs in the mean: the first is chosen by what the symptom reads, as it is known to all, but
    every board is known beforehand when the others are chosen.

    Over is a search when a group is sure, or the kit offers no place that is left.
    """
    probes = np.array([_fewest(start, stage, board) for board in made])
    alike = np.array([round(board.shown[stage.symptom] / ALIKE) for board in made])
    return float(sum(probes[alike == k].sum(0).min() for k in set(alike.tolist())) / len(made))


def _fewest(start: Diagnosis, stage: Stage, board: RealBoard) -> list[int]:
    """The least probes after which the search is over, for each place if it is among them (places in their order)."""
    places = [p for p in stage.places if p != stage.symptom]

    @cache
    def over(*some: str) -> bool:
        d = start.also(board.text([stage.symptom, *some]))
        return max(g.share for g in d.groups) >= SURE or not by_the_kit(d, [p for p in places if p not in some])

    if over():
        return [0] * len(places)
    tried = [some for many in range(1, len(places)) for some in combinations(places, many)]
    return [next((len(some) for some in tried if place in some and over(*some)), len(places)) for place in places]


def _volts_at(probe: object, place: str) -> bool:
    return (getattr(probe, "at", ""), getattr(probe, "setting", "")) == (place, "volts")


def by_the_kit(d: Diagnosis, left: list[str]) -> str:
    """The kit's own best volts probe among the places that can be read here."""
    return next((p.at for p in d.next_probes if p.at in left and p.setting == "volts"), "")


def from_the_source(d: Diagnosis, left: list[str]) -> str:
    """One after the other along the signal."""
    return left[0]


def half_split(d: Diagnosis, left: list[str]) -> str:
    """The middle of what is left."""
    return left[len(left) // 2]


def at_random(draw: np.random.Generator) -> Callable[[Diagnosis, list[str]], str]:
    """Any place that is left."""
    return lambda d, left: str(draw.choice(left))


@dataclass(frozen=True, slots=True)
class Slips:
    """Boards with one reading slipped by more than 5 deviations, and what became of it.

    ``plain``: slips after which some place reads what no single fault lets it read; the others look like a board with
    another fault, and hardly anybody could tell. ``named`` by slip, ``right`` the truth leads, ``oracle`` the truth leads for one who knows
    which reading to leave out.
    """

    plain: NDArray[np.bool_]
    named: NDArray[np.bool_]
    right: NDArray[np.bool_]
    oracle: NDArray[np.bool_]


def wrong_readings(
    stage: Stage, of: Cloud, made: Sequence[RealBoard], start: Diagnosis, draw: np.random.Generator
) -> Slips:
    """One reading a board slipped: times ten, a tenth, zero, or the neighbour's."""
    rows = []
    for board in made:
        place = str(draw.choice(stage.places))
        other = str(draw.choice([p for p in stage.places if p != place]))
        slip = float(draw.choice([board.shown[place] * 10, board.shown[place] / 10, 0.0, board.shown[other]]))
        if abs(slip - board.shown[place]) < 0.3 or slip > 13:
            continue
        spoiled = RealBoard(board.faults, {**board.shown, place: slip}, board.values)
        d = start.also(spoiled.text(stage.places))
        oracle = start.also(board.text([p for p in stage.places if p != place]))
        name = " + ".join(board.faults) if board.faults else HEALTHY
        plain = not of.holds(_shown(spoiled, stage))
        rows.append((plain, any(r.place == place for r in d.doubtful), _leader(d) == name, _leader(oracle) == name))
    told = np.array(rows, dtype=bool).reshape(-1, 4)
    return Slips(told[:, 0], told[:, 1], told[:, 2], told[:, 3])


def false_doubt(stage: Stage, made: Sequence[RealBoard], start: Diagnosis) -> float:
    """How often a reading is doubted on boards where none slipped."""
    return _mean([bool(start.also(board.text(stage.places)).doubtful) for board in made])


def _leader(d: Diagnosis) -> str:
    shares = shares_of(d)
    return max(shares, key=lambda k: shares[k])


def _mean(rows: Sequence[bool | float]) -> float:
    return float(np.mean(rows)) if len(rows) else float("nan")


def double_faults(stage: Stage, count: int, start: Diagnosis, draw: np.random.Generator) -> dict[str, float]:
    """Two faults at once: one of the two leads, or none of these is said with at least .3."""
    found = []
    healthy = sr.solve(known(stage)).volts
    for board in boards(stage, count, draw, many=2):
        if abs(board.shown[stage.symptom] - healthy[stage.symptom]) < WRONG_BY:
            continue
        d = start.also(board.text(stage.places))
        named = {name for name in d.suspects[0].fault.split(" + ")}
        found.append(bool(named & set(board.faults)) or d.none_of_these >= 0.3)
    return {"boards": len(found), "honest": _mean(found)}


def unreadable(
    stage: Stage, count: int, part: str, draw: np.random.Generator, *, world: World = OTHER
) -> dict[str, float]:
    """A resistor of which nobody can read the value (1k..100k): how often the 90 % interval holds the true one."""
    start = sr.diagnose(known(stage).with_values({part: "1k..100k"}), "")
    held = []
    for board in boards(stage, count, draw, healthy=0.7, wide=part, world=world):
        value = start.also(board.text(stage.places)).values.get(part)
        if value is not None and not any(f.startswith(part) for f in board.faults):
            held.append(value.low <= board.values[part] <= value.high)
    return {"boards": len(held), "held": _mean(held)}
