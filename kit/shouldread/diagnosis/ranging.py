"""Ranging: on which range of a meter hypotheses are shown with nothing fed."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.board import Context
from shouldread.diagnosis.offers import Offer
from shouldread.diagnosis.panel import Panels
from shouldread.diagnosis.variables import COLD
from shouldread.meter import Range

Array = NDArray[np.float64]
Ints = NDArray[np.intp]


class Ranging:
    """The range on which autoranging shows each hypothesis at some offered readings, by its ohms at no volts.

    All readings of a hypothesis are worked out at once.
    """

    def __init__(self, panels: Panels, offered: Iterable[Offer]) -> None:
        self._panels = panels
        self._pairs = list(dict.fromkeys(offer.pair for offer in offered if offer.setting == "ohms"))
        self._ohms: dict[int, Array] = {}

    def ranges(self, numbers: Ints, offer: Offer) -> dict[int, Range]:
        """The range of each of these hypotheses at one of the readings."""
        rows = self._panels.board.meter.ranges(offer.setting)
        if offer.setting == "diode":
            return dict.fromkeys(numbers.tolist(), rows[-1])
        self.ready(numbers)
        at = self._pairs.index(offer.pair)
        return {
            number: next((r for r in rows if r.shows(self._ohms[number][at])), rows[-1]) for number in numbers.tolist()
        }

    def ready(self, numbers: Ints) -> None:
        """Work out the ohms of these hypotheses, together."""
        board, cold = self._panels.board, Context(COLD)
        fresh = np.array([number for number in numbers.tolist() if number not in self._ohms], dtype=np.intp)
        if not len(fresh) or not self._pairs:
            return
        board.prepare(fresh.tolist(), cold)
        for lanes, which in board.together(fresh, cold):
            points = lanes.solve(fresh[which], np.full((len(which), len(board.variables.axes)), 0.5))
            self._ohms |= dict(zip(fresh[which].tolist(), points.resistance(self._pairs), strict=True))
