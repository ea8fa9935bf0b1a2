"""Next probe: the reading that would tell most for its cost, over all offered, on what is left of belief.

One probe is thought ahead. Two were tried on the benchmark's first two stages, with the best second probe weighed in, and
ended no search sooner (1.62 probes against 1.38 on 37 boards, 2.02 against 2.00 on 43).
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.abreast import THREADS, abreast
from shouldread.diagnosis.belief import WRONG, Rows, Weighed, weigh, with_untold
from shouldread.diagnosis.cells import slopes_of
from shouldread.diagnosis.flat import Flat, flat_for
from shouldread.diagnosis.gain import entropy, expected_gain
from shouldread.diagnosis.groups import in_play
from shouldread.diagnosis.intervals import conditioned, with_position
from shouldread.diagnosis.joint import Lines, fit, forecast
from shouldread.diagnosis.offers import Offer
from shouldread.diagnosis.panel import Panel, Panels
from shouldread.diagnosis.ranging import Ranging
from shouldread.diagnosis.scale import Scale

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

SURE = 0.95  # share of one group that ends the search
LITTLE = 0.05  # bits: below it no reading is worth its while
_NEAR = 10  # leading hypotheses that are compared with nothing fed
_ACCUSED = 6  # and whose parts are then read
_LEADS = 0.01  # share of a leading one
_UNSURE = 0.02  # chance that a reading is wrong from which reading it again is an offer
_OVER = 1e-4  # variance of OL on the axis: one place for all that shows it
_COUNTS = 0.02  # share from which a group's reading is told


@dataclass(frozen=True, slots=True)
class Ahead:
    """What the leading groups would read at an offered probe: gain in bits, and (group, value) most likely first."""

    offer: Offer
    gain: float
    values: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class _Row:
    """A row of a panel that an offer is read on."""

    offer: Offer
    panel: Panel
    pair: int


@dataclass(frozen=True, slots=True)
class _Live:
    """What is left of belief: the hypotheses that still count, and all cells weighed."""

    numbers: Ints
    weighed: Weighed
    weights: Array
    group: Ints
    groups: int


def ahead(panels: Panels, weighed: Weighed, weights: Array, group: Ints, offered: Sequence[Offer]) -> list[Ahead]:
    """Expected drop of entropy over groups for every offered probe that may still tell something."""
    share = weighed.hypothesis_share(len(panels.board.hypotheses))
    order = np.argsort(-share, kind="stable")
    numbers = in_play(share)
    if not len(numbers):
        return []
    read = {
        (t.spot.context, t.spot.setting, t.spot.pair)
        for t, wrong in zip(weighed.rows.taken, weighed.wrong_share, strict=True)
        if wrong < _UNSURE
    }
    live = _Live(numbers, weighed, weights, group, int(group.max()) + 1)
    leading = set(order[:_NEAR][share[order[:_NEAR]] > _LEADS].tolist()) or {int(order[0])}
    accused = [k for k in order[:_ACCUSED] if k in leading]
    near = {part for k in accused for part in panels.board.hypotheses.all[k].parts}
    few = replace(live, numbers=np.array(sorted(leading), dtype=np.intp))
    asked = list(_asked(panels, [o for o in offered if o.key not in read], leading, near))
    told = abreast(lambda rows: _told(panels, rows, few if rows[0].offer.context.cold else live), asked, THREADS)
    return list(chain.from_iterable(told))


def _asked(panels: Panels, offered: Sequence[Offer], leading: set[int], near: set[str]) -> Iterator[list[_Row]]:
    """Rows to look at together: all nodes of a state, or one reading with nothing fed on every range it may need."""
    for context in dict.fromkeys(o.context for o in offered if o.setting == "volts"):
        here = [o for o in offered if o.setting == "volts" and o.context == context]
        yield [_Row(o, panels.volts(context), panels.nodes.index(o.pair)) for o in here]
    cold = [o for o in offered if o.setting in ("ohms", "diode") and near & set(o.parts)]
    ranging = Ranging(panels, cold)
    for offer in cold:
        ranges = set(ranging.ranges(np.array(sorted(leading)), offer).values())
        scales = [Scale(panels.board.meter, offer.setting, r) for r in sorted(ranges, key=lambda r: r.top)]
        yield [_Row(offer, *panels.holding(offer.context, scale, offer.pair)) for scale in scales]


def _told(panels: Panels, rows: list[_Row], live: _Live) -> list[Ahead]:
    """Gains of the offers behind some rows: live cells cut by their panels, weighed again, and asked for the rows."""
    chosen = np.flatnonzero(np.isin(live.weighed.cells.region.owner, live.numbers))
    cells = live.weighed.cells.picked(chosen)
    for panel in dict.fromkeys(row.panel for row in rows):
        cells = cells.laid_on(panel)
    if len(cells.region.owner) == 0:
        return []
    read = live.weighed.rows
    now = weigh(panels.board, cells, read, live.weights)
    total = len(read.taken)
    slopes = slopes_of(cells, [*read.where, *((row.panel, row.pair) for row in rows)])
    at_mean = np.stack([r.panel.scale.variance(slopes.mean[:, total + k]) for k, r in enumerate(rows)], axis=1)
    lead = now.lead if total else slopes.lead(at_mean.mean(0))
    lines = with_untold(slopes, slopes.along(lead), read, now.noise)
    lines.loose[:, total:] += at_mean
    mean, variance = _open_rows(lines, read, now)
    told = slopes.told[:, total:]
    sure, slips = now.cell_share[:, None] * told, (WRONG * now.unslipped)[:, None] * told
    owner, none = cells.region.owner, now.none_of_these
    out = []
    for offer in dict.fromkeys(row.offer for row in rows):
        which = [k for k, row in enumerate(rows) if row.offer is offer]
        scales = [rows[k].panel.scale for k in which]
        flat = flat_for(panels.board.circuit, panels.board.circuit.state(offer.context.state), scales[-1])
        law = _shown(scales, mean[:, which], variance[:, which], flat)
        gain = _gain(law, sure[:, which[0]], slips[:, which[0]], owner, none, live)
        out.append(Ahead(offer, gain, _values(law, sure[:, which[0]], owner, live)))
    return out


@dataclass(frozen=True, slots=True)
class _Law:
    """What the display of one offer may show for each cell, on the axis of a flat law: mean and variance, OL from ``over``."""

    mean: Array
    variance: Array
    over: float
    flat: Flat

    def shown(self, at: float) -> float:
        """A place on the axis as a displayed value."""
        if at >= self.over:
            return math.inf
        return math.exp(at) if self.flat.scale.setting == "ohms" else self.flat.scale.from_scale(at)


def _shown(scales: Sequence[Scale], mean: Array, variance: Array, flat: Flat) -> _Law:
    """As the lowest range shows it that does not say OL: ohms by their logarithm, everything else as it is on its scale.

    ``flat``: the law that prefers nothing, on the last of the scales.
    """
    ohms, over = flat.scale.setting == "ohms", flat.axis(flat.scale.over)
    at, spread = np.full(len(mean), over), np.full(len(mean), _OVER)
    for k in reversed(range(len(scales))):
        fits = mean[:, k] < scales[k].over
        told, wide = scales[k].ohms_law(mean[:, k], variance[:, k]) if ohms else (mean[:, k], variance[:, k])
        at, spread = np.where(fits, told, at), np.where(fits, wide, spread)
    return _Law(at, spread, over, flat)


def _open_rows(lines: Lines, rows: Rows, now: Weighed) -> tuple[Array, Array]:
    """Means and variances (K, m) of rows not read yet. A cell that takes a reading for wrong learns nothing of it."""
    numbers, total = rows.numbers, len(rows.taken)
    many = lines.mean.shape[1] - numbers
    own = np.zeros((many, many))
    own[: total - numbers, : total - numbers] = now.noise[numbers:, numbers:]
    known = lines.rows(slice(0, numbers))
    fitted = fit(known, rows.read, now.noise[:numbers, :numbers])
    columns = total - numbers
    before = forecast(
        known, lines.rows(slice(numbers, None)), fitted, own, np.zeros((many, numbers)), columns, 1 + numbers
    )
    after = conditioned(before, fitted, rows.bounds).forecast
    pattern = now.log.argmax(1)
    cells = np.arange(len(pattern))
    spoilt = pattern > numbers  # an interval is held wrong: nothing is drawn from the intervals
    pick = np.where(spoilt, 0, pattern)
    loose = with_position(before, fitted)
    mean = np.where(spoilt[:, None], loose.mean[cells, pick], after.mean[cells, pick])
    variance = np.where(spoilt[:, None], loose.variance[cells, pick], after.variance[cells, pick])
    return mean[:, columns:], variance[:, columns:]


def _gain(law: _Law, weight: Array, slips: Array, owner: Ints, none: float, live: _Live) -> float:
    total = float(weight.sum()) + none
    return expected_gain(
        law.mean, law.variance, weight / total, live.group[owner], live.groups, law.flat, slips / total
    )


def _values(law: _Law, weight: Array, owner: Ints, live: _Live) -> tuple[tuple[int, float], ...]:
    """The typical value of each group that still counts, most likely first."""
    groups = live.group[owner]
    rows = []
    for g in np.unique(groups):
        here = groups == g
        mass = float(weight[here].sum())
        if mass > _COUNTS:
            rows.append((mass, int(g), float(weight[here] @ law.mean[here]) / mass))
    rows.sort(key=lambda r: (-r[0], r[1]))
    return tuple((g, law.shown(value)) for _, g, value in rows)


def left(share: Array, group: Ints, none: float) -> float:
    """Bits of doubt over groups, healthy and none of these."""
    masses = np.zeros(int(group.max()) + 2)
    np.add.at(masses, group, share)
    masses[-1] = none
    return entropy(masses / masses.sum())
