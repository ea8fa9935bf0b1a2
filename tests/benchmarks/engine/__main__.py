"""Measure the engine and write the table: ``python -m tests.benchmarks.engine [--boards 2000] [--alone 100000]``.

The seed is drawn anew each time and printed; ``--seed`` repeats a run.
"""

import argparse
import secrets
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.engine.campaign import against_ngspice, alone
from tests.benchmarks.engine.speed import STEPS, exponent, measured

TABLE = Path(__file__).with_name("README.md")
SIZES = (5, 20, 60, 200)


def main() -> None:
    """Run everything and write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--boards", type=int, default=2000, help="random boards asked of ngspice too")
    parser.add_argument("--alone", type=int, default=100_000, help="random boards solved by the kit alone")
    parser.add_argument("--samples", type=int, default=256)
    parser.add_argument("--seed", type=int, default=secrets.randbelow(10**9))
    asked = parser.parse_args()
    print(f"seed {asked.seed}")
    rows = ["# How fast and how right the engine is", "", "Made by `python -m tests.benchmarks.engine`.", ""]
    rows += _speed(asked.samples)
    rows += _campaign(asked.seed, asked.boards)
    rows += _by_itself(asked.seed + asked.boards, asked.alone)
    TABLE.write_text("\n".join([*rows, ""]), encoding="utf-8")
    print(TABLE.read_text(encoding="utf-8"))


def _speed(samples: int) -> Iterator[str]:
    yield from (
        "## Time and memory as the board grows",
        "",
        "Ladder-like boards, one thread each, all in one run by turns, the middle of three. ngspice: `op` alone in one"
        " process, without reading the netlist and without reading answers. Dense algebra:"
        f" numpy's batched solve as often as Newton's method takes steps ({STEPS}), devices not included.",
        "",
        f"| nodes | single faults | kit, µs a solve ({samples} samples under a fault) | ngspice `op`, µs | times faster"
        " | dense algebra, µs | one answer from power-up with outcome, ms | every fault once, ms"
        f" | kB for {samples} lanes |",
        "|--|--|--|--|--|--|--|--|--|",
    )
    told = [measured(size, samples) for size in SIZES]
    for row in told:
        yield (
            f"| {row.nodes} | {row.faults} | {row.kit:.2f} | {row.ngspice:.0f} | {row.ngspice / row.kit:.0f}"
            f" | {row.dense:.0f} | {row.first / 1e3:.1f} | {row.all_faults * 1e3:.0f} | {row.kilobytes:.0f} |"
        )
    grows = exponent(told[1], told[-1])
    yield from ("", f"Every fault once, from {told[1].nodes} to {told[-1].nodes} nodes: (nodes x faults)^{grows:.2f}.")


def _campaign(seed: int, count: int) -> Iterator[str]:
    if not count:
        return
    begun = time.perf_counter()
    found, apart = against_ngspice(seed, count)
    yield from (
        "",
        "## Random boards against ngspice",
        "",
        f"{count} boards of 5 to 60 nodes (R D Q M E G S X), one to five faults each, seeds from {seed};"
        f" {time.perf_counter() - begun:.0f} s. They agree within 1e-6 + 1 µV and 1e-6 + 1 nA, or are named:",
        "",
    )
    yield from _counted(found, count)
    yield from ("", *(f"- {words}" for words in apart))


def _by_itself(seed: int, count: int) -> Iterator[str]:
    if not count:
        return
    found, silent = alone(seed, count)
    yield from ("", "## Random boards alone", "", f"{count} boards of the same sort, seeds from {seed}.", "")
    yield from _counted(found, count)
    yield from (
        "",
        f"Failures that are not told as an outcome: {len(silent)}.",
        "",
        *(f"- {words}" for words in silent),
    )


def _counted(found: Counter[str], count: int) -> Iterator[str]:
    yield from ("| outcome | boards | share |", "|--|--|--|")
    for name, many in found.most_common():
        yield f"| {name} | {many} | {100 * many / count:.2f} % |"


if __name__ == "__main__":
    main()
