"""A flat circuit as arrays: one structure whose numbers (slots) may differ from lane to lane."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from shouldread.solve.plan import Arrays, Plan, planned

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Net:
    """Arrays of one structure. Node 0 is ground; ``names`` has the first ``visible`` nodes by name.

    Each element array holds node numbers and, last, its first slot. ``constraints`` are V, ideal L and E in the
    order leaf to root: child, parent, control +, control -, slot, sign (v child - v parent = sign x number
    [x control volts]). A link is one whose control is its own current, and its number ohms; ``links`` has them by the
    place of their pin. ``tips``: the pairs of nodes between which a meter may stand, and its first slot (of three): in each
    lane it stands at the pair of that number, with so many siemens and amps. ``loop``: parts that close a loop of ideal
    sources, empty when there is none.
    """

    names: tuple[str, ...]
    size: int
    slots: Floats
    slot_of: Mapping[tuple[str, str], int]
    resistors: Ints
    currents: Ints
    gains: Ints
    constraints: Ints
    switches: Ints
    diodes: Ints
    bipolars: Ints
    fields: Ints
    rows: Ints
    held: Ints  # switches: -1 free, 0 or 1 held by a state
    first_bits: Ints
    owners: Mapping[str, tuple[tuple[str, int], ...]]  # part -> (element array, index) of what carries its current
    switch_names: tuple[str, ...]
    loop: tuple[str, ...]
    index: Mapping[str, int]
    links: Mapping[str, int] = field(default_factory=dict)
    tips: Ints = field(default_factory=lambda: np.zeros((0, 3), dtype=np.int64))
    arrays: Arrays = field(init=False, repr=False, compare=False)
    plan: Plan = field(init=False, repr=False, compare=False)
    _whole: list[Plan] = field(init=False, repr=False, compare=False, default_factory=list)

    def __post_init__(self) -> None:
        tables = (self.resistors, self.currents, self.gains, self.constraints, self.switches)
        arrays = Arrays(*tables, self.diodes, self.bipolars, self.fields, self.rows, self.tips)
        object.__setattr__(self, "arrays", arrays)
        object.__setattr__(self, "plan", planned(self.size, arrays, True))

    @property
    def whole(self) -> Plan:
        """The plan in which every ideal source has an equation of its own, made when it is first asked for."""
        if not self._whole:
            self._whole.append(planned(self.size, self.arrays, False))
        return self._whole[0]
