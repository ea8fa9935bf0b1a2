"""Observations as evidence: what eye, nose and finger found makes the faults of a part more or less likely."""

import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.hypothesis import Hypotheses
from shouldread.faults import Fault
from shouldread.meter import Observation


@cache
def _weights() -> Mapping[str, Mapping[str, float]]:
    return tomllib.loads(Path(__file__).with_name("observed.toml").read_text(encoding="utf-8"))


def _times(seen: str, fault: Fault) -> float:
    row = _weights()[seen]
    return float(row.get(fault.mode, row["any"]))


def seen_weights(known: Hypotheses, observations: Iterable[Observation]) -> NDArray[np.float64]:
    """Shares of all hypotheses (H,) after what was seen; with none of these they sum to 1 as before.

    Seeing the same twice is seeing it once. A pair takes the largest weight of its members.
    """
    shares = np.array([h.prior for h in known.all])
    factor = np.ones(len(shares))
    for place, seen in sorted({(o.place.partition(".")[0].casefold(), o.seen) for o in observations}):
        for k, hypothesis in enumerate(known.all):
            hit = [m for m in hypothesis.members if not place or place in (p.casefold() for p in m.parts)]
            if hit:
                factor[k] *= max(_times(seen, member) for member in hit)
    weighed = shares * factor
    return np.asarray(weighed * (shares.sum() / weighed.sum()))
