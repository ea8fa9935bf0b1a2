"""Two faults at once: tried when no single one fits, from those singles that explain most of the readings."""

import itertools

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from shouldread.diagnosis.belief import Weighed, weigh
from shouldread.diagnosis.cells import Cells
from shouldread.diagnosis.mind import Mind, Standing
from shouldread.faults import Fault

Array = NDArray[np.float64]

WORTH_TRYING = 0.2  # share of none of these from which two faults are tried
_SINGLES = 12  # singles that pairs are made of
_BETTER = 3.0  # nats by which a pair must explain the readings better than a law that knows nothing
_MOST = 5


def two_faults(mind: Mind, standing: Standing) -> tuple[str, ...]:
    """Pairs of faults that together explain what no listed fault does, likeliest first; empty while one fault does."""
    weighed = standing.weighed
    if weighed.none_of_these < WORTH_TRYING or len(weighed.rows.taken) < 2:
        return ()
    hypotheses = mind.board.hypotheses.all
    score = explained(weighed, len(hypotheses)) + np.log([max(h.prior, 1e-12) for h in hypotheses])
    single = [k for k in np.argsort(-score, kind="stable") if hypotheses[k].fault and len(hypotheses[k].members) == 1]
    pairs = [_pair(mind, a, b) for a, b in itertools.combinations(single[:_SINGLES], 2)]
    numbers = {
        mind.board.number_of(f): f for f in pairs if f is not None and str(f) not in mind.board.hypotheses.index
    }
    if not numbers:
        return ()
    asked = np.array(sorted(numbers), dtype=np.intp)
    weights = np.zeros(int(asked[-1]) + 1)
    weights[asked] = 1.0
    cells = Cells.whole(asked, len(mind.board.variables.axes))
    for panel in dict.fromkeys(panel for panel, _ in weighed.rows.where):
        cells = cells.laid_on(panel)
    again = weigh(mind.board, cells, weighed.rows, weights)
    known_nothing = float(weighed.rows.log_flat.sum())
    found = []
    for number in asked:
        log = float(logsumexp(again.log[again.cells.region.owner == number][:, 0]))
        if log > known_nothing + _BETTER:
            found.append((-log - np.log(max(numbers[int(number)].prior, 1e-300)), str(numbers[int(number)])))
    return tuple(name for _, name in sorted(found)[:_MOST])


def explained(weighed: Weighed, count: int) -> Array:
    """How much of the readings each hypothesis explains (H,), each reading by itself and none counting below flat."""
    owner, lines = weighed.cells.region.owner, weighed.lines
    variance = (lines.loads**2).sum(2) + lines.rise**2 / 12 + lines.loose + np.diagonal(weighed.noise)
    rows = weighed.rows
    at = np.array([t.at if t.is_number else np.clip(0.0, t.low, t.high) for t in rows.taken])
    log = -0.5 * ((at - lines.mean) ** 2 / variance + np.log(2 * np.pi * variance))
    each = np.maximum(log, rows.log_flat).sum(1)
    out = np.full(count, -np.inf)
    np.maximum.at(out, owner, each)
    return out


def _pair(mind: Mind, one: int, two: int) -> Fault | None:
    a, b = (mind.board.hypotheses.all[k].fault for k in sorted((one, two)))
    assert a is not None and b is not None
    if set(a.parts) & set(b.parts):
        return None
    names = tuple(dict.fromkeys((*a.parts, *b.parts)))
    return Fault(names, "pair", name=f"{a.name} + {b.name}", prior=a.prior * b.prior, members=(a, b))
