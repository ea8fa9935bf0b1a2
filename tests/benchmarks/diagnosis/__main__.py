"""Measure diagnosis on real boards and write the table: ``python -m tests.benchmarks.diagnosis [--boards 400]``.

The seed is drawn anew each time and printed; ``--seed`` repeats a run.
"""

import argparse
import secrets
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import shouldread as sr
from numpy.typing import NDArray
from shouldread.diagnosis import Diagnosis

from tests.benchmarks.diagnosis.baselines import cloud
from tests.benchmarks.diagnosis.boards import RealBoard, boards
from tests.benchmarks.diagnosis.measures import (
    REFEREED,
    WRONG_BY,
    Road,
    Scored,
    Slips,
    at_random,
    by_the_kit,
    double_faults,
    false_doubt,
    from_the_source,
    half_split,
    least,
    road,
    scores,
    unreadable,
    wrong_readings,
)
from tests.benchmarks.diagnosis.plots import doubt_left, save, truth_of_shares
from tests.benchmarks.diagnosis.referee import Referee
from tests.benchmarks.diagnosis.speed import speed_rows
from tests.benchmarks.diagnosis.stages import STAGES, Stage, known
from tests.benchmarks.diagnosis.worlds import ASSUMED, OTHER, World

FEW_PLACES = 8  # places up to which every set of them is tried ...
FORESEEN = 150  # ... on so many boards
KITS, RANDOM = "the kit's next probe", "at random"
TABLE = Path(__file__).with_name("README.md")
SHARES, DOUBT = TABLE.with_name("truth_of_shares.svg"), TABLE.with_name("doubt_left.svg")
SPEED = Path(__file__).with_name("SPEED.md")


def main() -> None:
    """Run everything and write the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--boards", type=int, default=2000)
    parser.add_argument("--particles", type=int, default=4000)
    parser.add_argument("--seed", type=int, default=secrets.randbelow(10**6))
    parser.add_argument("--only", choices=("figures", "speed"))
    asked = parser.parse_args()
    if asked.only != "figures":
        SPEED.write_text("\n".join([*speed_rows(), ""]), encoding="utf-8")
        print(SPEED.read_text(encoding="utf-8"))
    if asked.only != "speed":
        _figures(asked)


def _figures(asked: argparse.Namespace) -> None:
    print(f"seed {asked.seed}")
    rows = [
        "# How good diagnosis is",
        "",
        f"Made by `python -m tests.benchmarks.diagnosis` (seed {asked.seed}, {asked.particles} particles a fault).",
        "",
        "All boards are solved by ngspice. In another world transistor and diode models, spreads, fault weights and"
        " severities differ from the kit's; the kit's own world is drawn as the kit assumes it. A handheld's gain"
        " error, counts and rounding are on every reading.",
        "",
        f"The kit's model integrated by draws is asked about {REFEREED} boards where it can be afforded: what it says is what the"
        " kit would say without any shortcut, and in the kit's own world nobody who knows no more can say anything"
        " better. The calibration error by chance is what shares that are exactly right would show on so many boards,"
        " nine times in ten at most.",
        "",
        f"![Of boards whose leading fault was given some share, how often it was right]({SHARES.name})",
        "",
        f"![Bits of doubt left after each probe, by probing order]({DOUBT.name})",
    ]
    seen = Seen()
    for stage in STAGES:
        rows += _stage(stage, asked.boards // stage.one_in, asked.particles, np.random.default_rng(asked.seed), seen)
    save(truth_of_shares(seen.scored), SHARES)
    save(doubt_left(seen.roads), DOUBT)
    TABLE.write_text("\n".join([*rows, ""]), encoding="utf-8")
    print(TABLE.read_text(encoding="utf-8"))


@dataclass(slots=True)
class Seen:
    """What is drawn: by stage, what the kit said in each world, and the roads of each probing order."""

    scored: dict[str, dict[str, Scored]] = field(default_factory=dict)
    roads: dict[str, dict[str, list[Road]]] = field(default_factory=dict)


def _stage(stage: Stage, count: int, particles: int, draw: np.random.Generator, seen: Seen) -> Iterator[str]:
    begun = time.perf_counter()
    start = sr.diagnose(known(stage), "")
    of = cloud(stage, particles // stage.one_in, draw)
    yield from ("", f"## {stage.name}: {count} boards", "")
    made: dict[World, list[RealBoard]] = {}
    for world in (ASSUMED, OTHER):
        made[world] = boards(stage, count, draw, world=world, healthy=0.5)
        yield from (f"In {world.name}:", "")
        referee = Referee(stage, draw) if stage.one_in == 1 else None
        found = scores(stage, of, made[world], start, referee)
        seen.scored.setdefault(stage.name, {})[world.name] = found["shouldread"]
        yield from _score_rows(found, draw)
        yield ""
    other = made[OTHER][: count // 2]
    yield from _road_rows(stage, [b for b in other if b.faults], start, draw, seen)
    slips = wrong_readings(stage, of, other, start, draw)
    both = double_faults(stage, max(200, count // 5), start, draw)
    values = [unreadable(stage, max(200, count // 5), stage.wide, draw, world=world) for world in (OTHER, ASSUMED)]
    false = false_doubt(stage, made[OTHER], start)
    yield from ("", "| in another world | measured | wanted |", "|--|--|--|", *_slip_rows(slips))
    yield from (
        f"| nothing slipped ({count} boards): a reading doubted | {false:.3f} | .01 |",
        f"| two faults ({both['boards']:.0f} boards): one of them leads, or none of these >= .3"
        f" | {both['honest']:.2f} | .90 |",
        f"| value 1k..100k ({values[0]['boards']:.0f} boards): 90 % interval holds it | {values[0]['held']:.2f} | .85 to .95 |",
        f"| the same in the kit's own world | {values[1]['held']:.2f} | |",
    )
    print(f"{stage.name}: {time.perf_counter() - begun:.0f} s")


def _slip_rows(slips: Slips) -> Iterator[str]:
    plain, disguised = slips.plain, ~slips.plain
    right, oracle = slips.right[plain].mean(), slips.oracle[plain].mean()
    yield f"| one reading slipped ({plain.sum()} boards that no single fault fits then): named | {slips.named[plain].mean():.2f} | .90 |"
    yield f"| the same: the truth leads, beside who leaves that reading out | {right:.2f} / {oracle:.2f} = {right / oracle:.2f} | .95 |"
    yield (
        f"| slips that make the board read like another single fault ({disguised.sum()}): named"
        f" | {slips.named[disguised].mean():.2f} | hardly anybody can |"
    )


def _score_rows(found: dict[str, Scored], draw: np.random.Generator) -> Iterator[str]:
    yield (
        "| method | log score (nat) | worse than the kit's by | the same of boards with a fault"
        " | 95 % set: holds the truth / says / size | calibration error (by chance up to) |"
    )
    yield "|--|--|--|--|--|--|"
    own, ill = np.array(found["shouldread"].truth), np.array(found["shouldread"].ill)
    for name, row in found.items():
        apart = np.array(row.truth) - own[: len(row.truth)]
        yield (
            f"| {name} | {np.mean(row.truth):.3f} | {_mean_of(apart)} | {_mean_of(apart[ill[: len(apart)]])}"
            f" | {np.mean(row.covered):.3f} / {np.mean(row.mass):.3f} / {np.mean(row.size):.2f}"
            f" | {row.calibration():.3f} ({row.by_chance(draw):.3f}) |"
        )


def _mean_of(values: NDArray[np.float64]) -> str:
    return f"{values.mean():+.3f} ± {values.std() / np.sqrt(len(values)):.3f}"


def _road_rows(
    stage: Stage, made: list[RealBoard], start: Diagnosis, draw: np.random.Generator, seen: Seen
) -> Iterator[str]:
    healthy = sr.solve(known(stage)).volts[stage.symptom]
    ill = [b for b in made if abs(b.shown[stage.symptom] - healthy) > WRONG_BY]
    policies = {
        KITS: by_the_kit,
        "half of what is left": half_split,
        "from the source": from_the_source,
        RANDOM: at_random(draw),
    }
    yield from (
        "",
        f"| probing order ({len(ill)} boards with {stage.symptom} wrong) | probes to the end | right group |",
        "|--|--|--|",
    )
    for name, choose in policies.items():
        roads = [road(start, stage, board, choose) for board in ill]
        seen.roads.setdefault(stage.name, {})[name] = roads
        yield f"| {name} | {np.mean([r.probes for r in roads]):.2f} | {np.mean([r.right for r in roads]):.2f} |"
        if choose is by_the_kit:
            promised, fell = sum(r.promised for r in roads), sum(r.fell for r in roads)
    if len(stage.places) <= FEW_PLACES:
        kit, at_all = (np.mean([r.probes for r in seen.roads[stage.name][of][:FORESEEN]]) for of in (KITS, RANDOM))
        yield (
            f"| the first probe by the symptom alone, the others with the board known beforehand: nobody can do better"
            f" ({len(ill[:FORESEEN])} boards; on these the kit {kit:.2f}, at random {at_all:.2f})"
            f" | {least(start, stage, ill[:FORESEEN]):.2f} | |"
        )
    yield from (
        "",
        f"Gain promised {promised / max(len(ill), 1):.2f} bits a board, entropy fell by {fell / max(len(ill), 1):.2f}.",
    )


if __name__ == "__main__":
    main()
