"""What technicians call parts: the words, the kind of the netlist behind each, and pins as packages number them."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from shouldread.circuit.library import blocks
from shouldread.errors import UnknownNameError
from shouldread.parts import KINDS

POLAR = ("npn", "pnp", "n-fet", "p-fet")
LEGS = {"Q": "ceb", "M": "dsg", "D": "ak"}
PAIR = "pair"


@dataclass(frozen=True, slots=True)
class Sort:
    """A sort of part as it is called: netlist letter, variety, ``model`` as TYPE(PARAMETERS), default value.

    ``inside``: the resistors inside a pre-biased transistor. ``block``: the kit's subcircuit of an IC.
    """

    name: str
    letter: str
    detail: str = ""
    model: str = ""
    value: str = ""
    tail: str = ""
    inside: str = ""
    block: str = ""

    @property
    def pins(self) -> tuple[str, ...]:
        """Names of its pins in netlist order; the bulk of a FET is tied to its source and has none."""
        if self.block:
            return blocks()[self.block.casefold()].pins
        return KINDS[self.letter].pins[:3] if self.letter in "QMD" else ("1", "2")

    @property
    def has_value(self) -> bool:
        """Whether its line carries one value."""
        return bool(KINDS[self.letter].unit) or "{volts}" in self.model


@cache
def _table() -> Mapping[str, Any]:
    return tomllib.loads((Path(__file__).parent / "sorts.toml").read_text(encoding="utf-8"))


@cache
def sorts() -> Mapping[str, Sort]:
    """Every sort by its words; an IC's are those of its block (``regulator``, ``load_switch``).

    >>> sorts()["schottky"].letter
    'D'
    """
    plain = {name: Sort(name, **row) for name, row in _table()["sort"].items()}
    return {name: Sort(name, "X", block=block.name) for name, block in blocks().items()} | plain


@cache
def words() -> frozenset[str]:
    """Every single word that tells a sort."""
    return frozenset(word for name in sorts() for word in name.split()) | {PAIR} | frozenset(_table()["same"])


def plain_word(word: str) -> str:
    """A word as the tables know it: ``NMOS`` is ``n-fet``; "" for one that adds nothing."""
    folded = word.casefold()
    return str(_table()["same"].get(folded, folded))


def sort_named(told: frozenset[str], like: frozenset[str] = frozenset()) -> Sort:
    """The sort of those words; what they leave open is as in ``like``. Raises UnknownNameError.

    >>> sort_named(frozenset({"prebiased"}), frozenset({"npn", "pair"})).name
    'npn prebiased'
    """
    wanted = told - {PAIR}
    for more in (frozenset(), like & frozenset(POLAR), like - {PAIR}):
        for name, sort in sorts().items():
            if frozenset(name.split()) == wanted | more:
                return sort
    raise UnknownNameError("sort of part", " ".join(sorted(wanted)), sorts())


def designator_of(name: str) -> str:
    """The letters that a name begins with, as the trade's list has them; "" for none.

    >>> designator_of("FB12"), designator_of("VAUX"), designator_of("RJ1")
    ('FB', 'V', 'R')
    """
    upper = name.upper()
    letters = upper[: next((at for at, sign in enumerate(upper) if not sign.isalpha()), len(upper))]
    known: Mapping[str, str] = _table()["designator"]
    return next((word for word in (letters, letters[:1]) if word and word in known), "")


def usual_sort(name: str) -> Sort | None:
    """What a part of that name usually is (``FB1``: a bead), or None where a word must say it."""
    hit = _table()["designator"].get(designator_of(name), "")
    return sorts()[hit] if hit else None


def pair_legs(letter: str) -> Mapping[str, tuple[str, str]]:
    """Pins of a six-pin pair: number or leg with its half (``b1``) -> half and leg."""
    legs = dict(zip("ceb", LEGS[letter], strict=True))
    by_number = {number: (told[0], legs[told[2]]) for number, told in _table()["pair"].items()}
    by_leg = {f"{leg}{1 + 'AB'.index(half)}": (half, leg) for half, leg in by_number.values()}
    return by_number | by_leg


def package_legs(word: str, letter: str) -> Mapping[str, str]:
    """Pins by number of a package whose order is told, such as ``bec``; empty when the word tells none."""
    folded = word.casefold()
    if letter in LEGS and sorted(folded) == sorted(LEGS[letter]):
        return {str(number): leg for number, leg in enumerate(folded, 1)}
    return {}
