"""What the conventions of schematics charge for a pose, in grid units of wire.

Higher potential on top, signal from left to right, dividers and pull-ups standing, what lies in the
way of the current lying (common practice, no source; IEC 61082-1 asks for the same flow directions).
"""

from dataclasses import dataclass

from shouldread.drawing.sense import Sense
from shouldread.drawing.sheet import GROUND, Piece, Sheet

UPSIDE_DOWN = 6.0  # a part with its lower potential on top
LOADED = ("capacitor", "polarised capacitor")


@dataclass(frozen=True, slots=True)
class Conventions:
    """The charges, for one sheet."""

    sheet: Sheet
    sense: Sense

    def hangs(self, node: str) -> bool | None:
        """Whether the node's flag hangs down; None for a wired node."""
        if node == GROUND:
            return True
        volts = self.sheet.rails.get(node)
        return None if volts is None else volts < 0

    def _signal(self, node: str) -> bool:
        return not self.sheet.flagged(node)

    def standing(self, piece: Piece, top: str, bottom: str) -> float:
        """For a two-pin part standing with ``top`` above ``bottom``."""
        toll = UPSIDE_DOWN if self.sense.height[top] < self.sense.height[bottom] - 0.02 else 0.0
        lies = piece.name in self.sense.lying
        if self._signal(top) and self._signal(bottom):
            toll += 0.0 if piece.name in self.sense.standing else 1.5
            return toll + (6.0 if lies else 0.0)
        return toll + (8.0 if lies else 0.0)

    def lying(self, piece: Piece, left: str, right: str) -> float:
        """For a two-pin part lying with ``left`` before ``right``."""
        lies, stands = piece.name in self.sense.lying, piece.name in self.sense.standing
        toll = 8.0 if stands else 0.0
        if self._signal(left) and self._signal(right):
            return toll + (3.0 if self.sense.level[left] > self.sense.level[right] + 0.1 else 0.0)
        if GROUND in (left, right):
            return toll + 14.0
        toll += 0.0 if lies else 9.0
        level = self.sense.level
        if left in level and right in level:  # one of them a supply made on this sheet
            return toll + (4.0 if level[left] > level[right] + 0.1 else 0.0)
        return toll + (4.0 if not self._signal(right) else 0.0)

    def upright(self, piece: Piece, mirrored: bool, inverted: bool) -> float:
        """For a transistor standing; ``inverted``: its lower end on top."""
        high, low = piece.path
        toll = 3.0 if mirrored else 0.0
        if not inverted:
            return toll
        if low in self.sheet.rails and self._signal(high):
            return toll + (0.0 if self.sheet.rails[low] > 0 else 2.0)
        return toll + 8.0

    def on_its_side(self, piece: Piece, left: str, right: str, control_below: bool) -> float:
        """For a transistor lying, its control below or above."""
        rails = self.sheet.rails
        high, low = piece.path
        control = str(piece.control)
        passing = (high in rails) != (low in rails) and GROUND not in (high, low)
        passing |= self._signal(high) and self._signal(low) and control in rails
        through = self._signal(high) and self._signal(low) and {high, low} & set(self.sheet.wired)
        toll = 0.5 if passing or through else 6.0
        toll += 5.0 if piece.symbol.name == "thyristor" else 0.0
        toll += 8.0 if GROUND in (left, right) else 0.0
        toll += 3.0 if control_below == (control in rails) else 0.0
        if right in rails:
            return toll + 4.0
        if self._signal(left) and self._signal(right):
            return toll + (2.0 if self.sense.level[left] > self.sense.level[right] + 0.1 else 0.0)
        return toll
