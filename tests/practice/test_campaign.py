"""A small part of the campaign of tests/benchmarks/practice.py, run always."""

import shouldread as sr

from tests.benchmarks.practice import figures, roads

STAGES = {"two_supply_and": range(16), "pnp_high_side_switch": range(8)}


def test_the_kits_own_probes_beat_chance_and_the_blind_guess() -> None:
    """Right group at least 19 times of 20, at most 60 % of a random prober's minutes, the blind guess below both."""
    found = []
    for name, seeds in STAGES.items():
        circuit = sr.load_circuit(name)
        found += [roads(seed, circuit) for seed in seeds]
    told = figures(found)
    assert told["kit right"] >= 0.95, [row[:3] for row in found if not row[2].right_first]
    assert told["minutes of a random prober's"] <= 0.6, told
    assert told["blind score"] < min(told["kit score"], told["walk score"]), told
    assert told["blind right"] < min(told["kit right"], told["walk right"]), told
