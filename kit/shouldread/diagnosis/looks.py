"""Looks: pairs of suspects at rows of panels that may tell them apart."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.panel import Panel
from shouldread.diagnosis.sights import Sights

Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]
Pairs = tuple[Ints, Ints]  # suspects, counted without healthy


@dataclass(frozen=True, slots=True)
class Look:
    """A row of a panel at which some pairs, by their places ``which`` among all of them, are looked at; -1 in ``left``
    and ``right`` stands for a good board."""

    panel: Panel
    row: int
    which: Ints
    left: Ints
    right: Ints

    def of(self, kept: Flags) -> "Look":
        """Some of the pairs."""
        return replace(self, which=self.which[kept], left=self.left[kept], right=self.right[kept])


@dataclass(frozen=True, slots=True)
class Sighted:
    """Pairs (Q,) of several looks: of which look, which pair, the sights of both."""

    at: Ints
    which: Ints
    left: Ints
    right: Ints

    @classmethod
    def of_looks(cls, looks: Sequence[Look], sights: Sights) -> "Sighted":
        """All pairs of the looks."""
        at = np.repeat(np.arange(len(looks)), [len(look.which) for look in looks])
        which, left, right = (
            np.concatenate([getattr(look, name) for look in looks]) for name in ("which", "left", "right")
        )
        return cls(at, which, sights.place(at, left + 1), sights.place(at, right + 1))

    def of(self, kept: Flags) -> "Sighted":
        """Some of the pairs."""
        return Sighted(self.at[kept], self.which[kept], self.left[kept], self.right[kept])

    def with_still(self, moved: Flags, sights: Sights) -> "Sighted":
        """The pairs, what moves nothing as the good board there; those of which neither moves anything are left out."""
        good = sights.place(self.at, np.zeros_like(self.at))
        left, right = (np.where(moved[side], side, good) for side in (self.left, self.right))
        return replace(self, left=left, right=right).of(left != right)

    def places(self, which: Ints) -> Pairs:
        """The places of both in ``which`` sights."""
        return np.searchsorted(which, self.left), np.searchsorted(which, self.right)

    def looks(self, looks: Sequence[Look], sights: Sights) -> list[Look]:
        """The pairs look by look, of those that have some."""
        out = []
        for k in np.unique(self.at).tolist():
            some = self.of(self.at == k)
            left, right = (sights.number[side] - 1 for side in (some.left, some.right))
            out.append(replace(looks[k], which=some.which, left=left, right=right))
        return out
