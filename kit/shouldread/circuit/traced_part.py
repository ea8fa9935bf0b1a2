"""A part as it was traced: its sort, where its legs sit as typed, and what is unsure about it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from shouldread.circuit.sorts import PAIR, Sort, designator_of, pair_legs
from shouldread.parts import KINDS
from shouldread.quantities import Spread, read_spread


@dataclass(frozen=True, slots=True)
class End:
    """Where an end of a part sits, as typed: a node or a pin of another part; ``unsure`` when marked with ``?``."""

    place: str
    unsure: bool = False


@dataclass(frozen=True, slots=True)
class TracedPart:
    """A part of one line. ``ends``: by leg (``1``, ``b``, in a pair ``A.b``); ``also``: other sorts it could be."""

    name: str
    sort: Sort
    ends: Mapping[str, End] = field(default_factory=dict)
    value: str = ""
    pair: bool = False
    legs: Mapping[str, str] = field(default_factory=dict)  # number on the package -> leg, where the order was told
    also: tuple[str, ...] = ()
    inside: tuple[str, ...] = ()  # values of the resistors inside, series first
    settings: Mapping[str, str] = field(default_factory=dict)  # parameters of an IC, ratings of other parts

    @property
    def called(self) -> str:
        """Its sort in the words of the line: ``npn prebiased pair``."""
        return f"{self.sort.name} {PAIR}" if self.pair else self.sort.name

    @property
    def netlist_name(self) -> str:
        """Its name in a netlist, where the first letter tells the kind: ``F1`` becomes ``RF1``."""
        return self.name if self.name[0].upper() == self.sort.letter else self.sort.letter + self.name

    @property
    def leg_names(self) -> tuple[str, ...]:
        """All legs that an end can sit on, in order."""
        if self.pair:
            return tuple(f"{half}.{leg}" for half in "AB" for leg in self.sort.pins)
        return self.sort.pins

    def leg(self, text: str) -> str | None:
        """The leg that a pin's number or letter names, None when it has no such pin."""
        folded = text.casefold()
        if self.pair:
            hit = pair_legs(self.sort.letter).get(folded)
            return f"{hit[0]}.{hit[1]}" if hit else None
        if folded in self.legs:
            return self.legs[folded]
        for pin in self.sort.pins:
            if pin.casefold() == folded:
                return pin
        if folded.isdigit() and not self.legs and 1 <= int(folded) <= len(self.sort.pins):
            return self.sort.pins[int(folded) - 1]
        return None


def needs_number(name: str) -> bool:
    """Whether a name is only a designator that wants a number of its own: ``R?``, ``C``."""
    letters = name.rstrip("?")
    return name.endswith("?") or (
        letters.upper() == designator_of(letters) and letters.isalpha() and len(letters) <= 3
    )


def value_of(part: TracedPart, text: str) -> Spread:
    """A value text of a part in SI units, with what is unsure about it. Raises QuantityError."""
    if part.sort.letter in "QMX" or part.sort.inside:
        return read_spread(text, "Ω", KINDS["R"].unreadable)
    kind = KINDS[part.sort.letter]
    return read_spread(text, kind.unit or "V", kind.unreadable)
