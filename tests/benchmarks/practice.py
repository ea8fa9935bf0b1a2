"""How the kit's own next probes fare against a random prober and a blind guess: ``python tests/benchmarks/practice.py 500``.

Exercises of steps 1 to 3 in turn over all fragments, one for each seed; prints a line for every seed and the figures
after every batch. A second number is the first seed. The random prober, who takes many more readings, plays every
fourth seed (a third number: every so many), and is compared with the kit on those.
"""

import random
import resource
import statistics
import sys
import time
from collections.abc import Sequence

import shouldread as sr
from shouldread.circuit import Circuit
from shouldread.practice import Exercise, Road, blind, follow, wander

BATCH = 20
Roads = tuple[str, int, Road, Road | None, Road]


def begun(seed: int, circuit: Circuit | None = None) -> Exercise:
    """The exercise of a seed: step 1, 2 and 3 in turn."""
    return sr.exercise(step=1 + seed % 3, seed=seed, circuit=circuit)


def roads(seed: int, circuit: Circuit | None = None, *, random_too: bool = True) -> Roads:
    """The three roads over one hidden board."""
    kit, walk, guess = (begun(seed, circuit) for _ in range(3))
    return (
        kit.circuit.name,
        seed,
        follow(kit),
        wander(walk, random.Random(seed)) if random_too else None,
        blind(guess),
    )


def figures(found: Sequence[Roads]) -> dict[str, float]:
    """Shares of boards whose first named group was right, mean minutes, mean scores."""
    out = {}
    for name, column in (("kit", 2), ("walk", 3), ("blind", 4)):
        rows = [road for row in found if isinstance(road := row[column], Road)]
        if not rows:
            continue
        out[f"{name} right"] = statistics.mean(r.right_first for r in rows)
        out[f"{name} minutes"] = statistics.mean(r.toll.minutes for r in rows)
        out[f"{name} score"] = statistics.mean(r.score * r.right_first for r in rows)
        out[f"{name} readings"] = statistics.mean(r.readings for r in rows)
    both = [row[2].toll.minutes for row in found if row[3] is not None]
    if both:
        out["minutes of a random prober's"] = statistics.mean(both) / out["walk minutes"]
    return out


def most_memory() -> int:
    """The most memory that this process ever took, MB (as Linux counts it)."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def main(seeds: int, first: int = 0, every: int = 4) -> None:
    """Run and print."""
    found: list[Roads] = []
    failed = 0
    began = time.monotonic()
    for start in range(first, first + seeds, BATCH):
        batch = range(start, min(start + BATCH, first + seeds))
        for seed in sorted(
            batch, key=lambda s: begun(s).circuit.name
        ):  # what was worked out of a circuit serves again
            since = time.monotonic()
            try:
                found.append(roads(seed, random_too=seed % every == 0))
            except (ArithmeticError, LookupError, MemoryError, ValueError) as trouble:  # the others still count
                print(f"  seed {seed}, {begun(seed).circuit.name}: {type(trouble).__name__}: {trouble}", flush=True)
                failed += 1
                continue
            name, _, kit, walk, _ = found[-1]
            told = (
                f"{name}, {time.monotonic() - since:.0f} s, {most_memory()} MB: kit {kit}; walk {walk or 'not played'}"
            )
            print(f"  seed {seed}, {told}", "" if kit.right_first else "MISSED", flush=True)
        if not found:
            continue
        told = "; ".join(f"{name} {value:.3g}" for name, value in figures(found).items())
        print(f"{len(found)} seeds, {failed} failed, {time.monotonic() - began:.0f} s: {told}", flush=True)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:] or ["500"]))
