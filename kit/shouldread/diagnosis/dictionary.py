"""Fault dictionary: what every hypothesis reads at offered probes, as shares in bins; and the groups it makes."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.abreast import THREADS, abreast
from shouldread.diagnosis.board import Context
from shouldread.diagnosis.groups import alike_pairs, groups_of, still_alike, together_of
from shouldread.diagnosis.mixture import bin_shares, edges_for
from shouldread.diagnosis.offers import Offer
from shouldread.diagnosis.panel import Panel, Panels
from shouldread.diagnosis.scale import Scale
from shouldread.diagnosis.stretches import stretches
from shouldread.diagnosis.variables import COLD
from shouldread.meter import Range

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]
EDGES = 160


def shares_at(panel: Panel, numbers: Ints, row: int) -> Array:
    """Shares (H', bins) of what each hypothesis ``numbers`` (ascending) reads at a row; last bin: nothing steady."""
    told_at = stretches(panel, row, numbers)
    mean, variance, rise, told = told_at.mean, told_at.variance, told_at.rise, told_at.told
    over = panel.scale.over
    if np.isfinite(over):
        mean = np.minimum(mean, over + 40 * np.sqrt(variance))
    edges = edges_for(mean[told], variance[told], rise[told], EDGES) if told.any() else np.zeros(1)
    edges = np.unique(np.append(edges[edges < over], over)) if np.isfinite(over) else edges
    bins = np.concatenate([bin_shares(mean, variance, rise, edges) * told[:, None], ~told[:, None]], axis=1)
    starts = np.searchsorted(told_at.owner, numbers)
    return np.asarray(np.add.reduceat(told_at.weight[:, None] * bins, starts, axis=0))


def range_of(panels: Panels, number: int, pair: tuple[str, str], setting: str) -> Range:
    """The range on which autoranging shows what a hypothesis reads with nothing fed, by its ohms at no volts."""
    rows = panels.board.meter.ranges(setting)
    if setting == "diode":
        return rows[-1]
    lanes = panels.board.lanes(number, Context(COLD))
    points = lanes.solve(np.array([number]), np.full((1, len(panels.board.variables.axes)), 0.5))
    ohms = float(points.resistance([pair])[0, 0])
    return next((r for r in rows if r.shows(ohms)), rows[-1])


def group_numbers(panels: Panels, offered: Sequence[Offer], first: Flags, playing: Flags) -> Ints:
    """Group of each hypothesis (H,); healthy is no suspect and stands alone as group 0.

    ``first`` (H-1, H-1): which suspects the volts of the first state leave alike. ``playing`` (H,): which
    hypotheses readings left in play; only these are sorted further, by other states and then by readings with
    nothing fed, tried only on those that volts leave alike, and only where one of their parts is.
    """
    asked = playing[1:]
    still = np.triu(first & asked[:, None] & asked, 1)
    fed = [offer for offer in offered if offer.setting == "volts"]
    together = alike_by_volts(panels, [o for o in fed if o.context != fed[0].context], *np.nonzero(still))
    of_part = _suspects_by_part(panels)
    for offer in offered:
        if offer.setting not in ("volts", "amps") and together.sum() > len(together):
            _part_by(panels, offer, together, asked, of_part)
    together |= first & ~asked[:, None] & ~asked
    return np.concatenate([[0], 1 + groups_of(together)]).astype(np.intp)


def alike_by_volts(panels: Panels, fed: Sequence[Offer], left: Ints, right: Ints) -> Flags:
    """Which of the pairs of suspects (left, right) every one of the offered voltages leaves alike, as a table (H-1, H-1).

    Readings are worked out by twos, and only for those that those before them left alike with another.
    """
    count = len(panels.board.hypotheses) - 1
    for low in range(0, len(fed), THREADS):
        if not len(left):
            break
        live, some = np.unique(np.concatenate([left, right])), fed[low : low + THREADS]
        asked = [(panels.volts(offer.context), panels.nodes.index(offer.pair)) for offer in some]
        for panel in dict.fromkeys(panel for panel, _ in asked):
            panel.sheet(live + 1)
        ends = np.searchsorted(live, left), np.searchsorted(live, right)
        jobs = [(panel, live + 1, row, *ends) for panel, row in asked]
        still = np.all(abreast(lambda job: _left_alike(*job), jobs, THREADS), axis=0)
        left, right = left[still], right[still]
    return together_of(left, right, count)


def _left_alike(panel: Panel, numbers: Ints, row: int, left: Ints, right: Ints) -> Flags:
    """Which pairs of the hypotheses ``numbers`` one reading leaves alike."""
    return still_alike(shares_at(panel, numbers, row), left, right)


def _suspects_by_part(panels: Panels) -> dict[str, Flags]:
    """Which suspects (H-1,) are faults of each part."""
    suspects = panels.board.hypotheses.all[1:]
    out: dict[str, Flags] = {}
    for k, one in enumerate(suspects):
        for part in one.parts:
            out.setdefault(part, np.zeros(len(suspects), dtype=bool))[k] = True
    return out


def _part_by(panels: Panels, offer: Offer, together: Flags, asked: Flags, of_part: dict[str, Flags]) -> None:
    """Take apart those alike so far that a reading with nothing fed tells apart (in place).

    Asked where a part is read whose fault is still one of several. Faults of parts that touch its ends are worked
    out; all others leave this reading as it is on a good board.
    """
    ends = set(offer.pair) - {"0"}
    near = np.zeros_like(asked)
    for name in offer.parts:
        near |= of_part.get(name, False)
    open_still = together.sum(1) > 1
    if not (near & open_still).any():
        return
    for name, part in panels.board.circuit.netlist.items():
        if ends & set(part.nodes):
            near |= of_part.get(name, False)
    near &= asked
    members = np.flatnonzero(near & open_still)
    numbers = np.concatenate([[0], members + 1])
    ranges = {range_of(panels, int(m), offer.pair, offer.setting) for m in numbers}
    for within in sorted(ranges, key=lambda r: r.top):
        panel, row = panels.holding(offer.context, Scale(panels.board.meter, offer.setting, within), offer.pair)
        apart = ~alike_pairs([shares_at(panel, numbers, row)], len(numbers))
        elsewhere = np.flatnonzero(~near)
        together[np.ix_(members, members)] &= ~apart[1:, 1:]
        moved = members[apart[0, 1:]]
        together[np.ix_(moved, elsewhere)] = False
        together[np.ix_(elsewhere, moved)] = False
