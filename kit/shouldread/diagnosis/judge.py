"""Verdicts: whether a reading is as it should be, or why nobody can tell."""

import math

import numpy as np

from shouldread.diagnosis.band import Band
from shouldread.diagnosis.expected import Point, band_of
from shouldread.diagnosis.panel import Panels
from shouldread.diagnosis.scale import DEAD_VOLTS, NOTHING
from shouldread.diagnosis.variables import COLD
from shouldread.meter import Reading, leads, pads

AS_IT_SHOULD, TOO_LOW, TOO_HIGH, CANNOT_TELL = "as it should be", "too low", "too high", "cannot tell"
SETS_RATIO, SETS_VOLTS = 0.05, 0.010  # loaded and unloaded differ by more: the meter makes the reading
FULL = 0.8  # of the span that all faults reach: a band as wide tells nothing
DECIDES = 10.0  # times all tolerances together: an unreadable value that moves a reading so far decides it
FLOATING = 1e8  # ohms to ground above which nothing holds a node


class Judge:
    """Compares readings with the healthy band. ``known`` leaves the board's unknown rest out, ``whole`` has it."""

    def __init__(self, known: Panels, whole: Panels) -> None:
        self._known = known
        self._whole = whole
        self._told: dict[Point, tuple[Band, str]] = {}

    def point(self, reading: Reading) -> Point:
        """Where and how a reading was taken. Raises UnknownNameError."""
        board = self._known.board
        context = board.context(reading.state, reading.conditions)
        if reading.setting == "amps":
            return Point((board.circuit.part(reading.place).name, ""), "amps", context)
        pair = pads(board.circuit_in(context), leads(board.circuit, reading.place, reading.to))
        return Point(pair, reading.setting, context)

    def band(self, reading: Reading) -> Band:
        """The healthy band where a reading was taken."""
        return self._judged(self.point(reading))[0]

    def verdict(self, reading: Reading) -> str:
        """``as it should be``, ``too low``, ``too high`` or ``cannot tell``."""
        return self.told(reading)[0]

    def told(self, reading: Reading) -> tuple[str, str]:
        """The verdict, and for ``cannot tell`` why."""
        if reading.form in ("rising", "pulsing"):
            return CANNOT_TELL, "a display that moves is judged by what it settles on"
        point = self.point(reading)
        band, why = self._judged(point)
        if why:
            return CANNOT_TELL, why
        if reading.form == "ok":
            return AS_IT_SHOULD, ""
        below, above = reading.high < band.low, reading.low > band.high
        if not (below or above):
            unknown = self._unknown(point)
            return (
                (CANNOT_TELL, f"healthy boards may read so or not: {unknown} is not known")
                if unknown
                else (AS_IT_SHOULD, "")
            )
        if self._is_dead(point, band) and min(abs(reading.low), abs(reading.high)) <= DEAD_VOLTS:
            return AS_IT_SHOULD, ""
        gap = band.low - reading.high if below else reading.low - band.high
        if gap < self._type_doubt(point):
            return CANNOT_TELL, "a transistor or a diode of another type may read so"
        return (TOO_LOW, "") if below else (TOO_HIGH, "")

    def _judged(self, point: Point) -> tuple[Band, str]:
        if point not in self._told:
            band = band_of(self._known, point, [0], [1.0])
            self._told[point] = band, self._no_verdict(point, band)
        return self._told[point]

    def _no_verdict(self, point: Point, band: Band) -> str:
        """Why nobody can tell at this point, or nothing."""
        if math.isnan(band.typical):
            return "a healthy board reads nothing steady here"
        if point.setting == "volts":
            held = self._held(point)
            if held:
                return held
        if not point.context.cold and self._known.board.has_several(point.context):
            return "a healthy board may stand at more than one answer"
        if self._assumed(point):
            return "what this IC pin shows with nothing fed is assumed, not known"
        return "the healthy band fills nearly all that any fault could show" if self._fills(point, band) else ""

    def _held(self, point: Point) -> str:
        lanes = self._known.board.lanes(0, point.context)
        points = lanes.solve(np.array([0]), np.full((1, len(self._known.board.variables.axes)), 0.5))
        ohms = float(points.resistance([point.pair])[0, 0])
        if ohms > FLOATING:
            return "nothing holds this node: what is read there is the meter's own doing"
        volts = float(points.volts([point.pair])[0, 0])
        share = self._known.board.meter.input_ohms / (self._known.board.meter.input_ohms + max(ohms, 0.0))
        if abs(volts) * (1 - share) > SETS_RATIO * abs(volts) + SETS_VOLTS:
            return "the meter itself pulls this node down"
        return ""

    def _assumed(self, point: Point) -> bool:
        """Whether what an IC pin shows when cold is only assumed and moves this reading."""
        board = self._known.board
        assumed = list(board.variables.assumed)
        if point.context.state != COLD or not assumed:
            return False
        for within in board.meter.ranges(point.setting):
            panel, row = self._known.holding(point.context, point.scale(self._known, within), point.pair)
            boxes = panel.sheet(np.array([0])).boxes
            here = boxes.region.owner == 0
            if np.abs(boxes.slope[here][:, row, assumed]).max(initial=0.0) > 0.02:
                return True
        return False

    def _unknown(self, point: Point) -> str:
        """The part whose unreadable value alone decides what a healthy board reads here, or nothing."""
        board = self._known.board
        unread = [k for k, name in enumerate(board.variables.axes) if name.partition(".")[0] in board.circuit.netlist]
        if point.setting != "volts" or not unread:
            return ""
        panel, row = self._known.holding(point.context, point.scale(self._known), point.pair)
        sheet = panel.sheet(np.array([0]))
        here = np.flatnonzero(sheet.boxes.region.owner == 0)
        mean = sheet.boxes.mean[here, row]
        change = np.abs(sheet.boxes.slope[here, row][:, unread]).max(0)
        reach = float(mean.max() - mean.min()) + float(change.max())
        own = float(np.sqrt((sheet.loads[here, row] ** 2).sum(1).max())) + SETS_VOLTS
        return board.variables.axes[unread[int(change.argmax())]].partition(".")[0] if reach > DECIDES * own else ""

    def _fills(self, point: Point, band: Band) -> bool:
        """Whether the band holds more than four fifths of the span that all faults reach (volts of nodes)."""
        if point.setting != "volts":
            return False
        panel, row = self._whole.holding(point.context, point.scale(self._whole), point.pair)
        boxes = panel.sheet(np.arange(len(self._whole.board.hypotheses))).boxes
        reached = boxes.mean[boxes.told, row]
        low, high = min(band.low, float(reached.min())), max(band.high, float(reached.max()))
        return band.high - band.low > FULL * (high - low) and band.high - band.low > SETS_VOLTS

    def _is_dead(self, point: Point, band: Band) -> bool:
        """Whether a healthy board has a dead line here: it picks up a little, and nothing is wrong with that."""
        return point.setting == "volts" and "0" in point.pair and abs(band.typical) < NOTHING

    def _type_doubt(self, point: Point) -> float:
        """How far a healthy reading moves when its transistors and diodes are of another common type (V)."""
        if point.setting != "volts":
            return 0.0
        board = self._known.board
        panel, row = self._known.holding(point.context, point.scale(self._known), point.pair)
        sheet = panel.sheet(np.array([0]))
        here = np.flatnonzero(sheet.boxes.region.owner == 0)[0]
        return float(np.abs(sheet.loads[here, row]) @ board.variables.another)
