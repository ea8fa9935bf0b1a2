"""Rail sheet: the rails of a board, what makes each, what enables it, and the order in which they come up."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from shouldread.circuit.limits import Limit, limit_named
from shouldread.circuit.names import is_name, name_rule
from shouldread.errors import CircuitError, Complaint, KitError, UnknownNameError, nearest_name
from shouldread.quantities import Spread, read_spread, say_spread

_CLAUSES = ("nominal", "from", "made", "enabled", "order")
_EXAMPLE = "5V nominal 5 ± 5 % from 12V made by U3 enabled by EN5"
MOST_RAILS = 500


@dataclass(frozen=True, slots=True)
class Rail:
    """One rail: nominal volts (None when nobody said), any of ``sources`` feeds it, all of ``enables`` release it.

    ``maker`` is the part that makes it; ``order`` its place in the start-up order where the sheet says so; ``limit``
    the standard whose limits are its nominal, None for volts that were typed.
    """

    name: str
    nominal: Spread | None = None
    sources: tuple[str, ...] = ()
    maker: str = ""
    enables: tuple[str, ...] = ()
    order: int | None = None
    limit: Limit | None = None

    def __str__(self) -> str:
        volts = "" if self.nominal is None else say_spread(self.nominal, "V")
        clauses = [
            f"nominal {self.limit.name if self.limit is not None else volts}" if volts else "",
            f"from {' or '.join(self.sources)}" if self.sources else "",
            f"made by {self.maker}" if self.maker else "",
            f"enabled by {' and '.join(self.enables)}" if self.enables else "",
            f"order {self.order}" if self.order is not None else "",
        ]
        return " ".join([self.name, *filter(None, clauses)])


_VOLTS = re.compile(r"(\d+)(?:[.,](?=\d+V$))?V?(\d*)V?", re.IGNORECASE)  # 24V, 3V3, 3.3V
_SPOKEN = re.compile(r"((?:^|;)\s*)(\d+(?:[.,]\d+)?) V(?=[ \t]+\S)", re.IGNORECASE | re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Rails:
    """The rails of a board. Iterating gives them in start-up order; ``lines`` are as typed."""

    lines: tuple[Rail, ...] = ()

    @classmethod
    def read(cls, text: str) -> "Rails":
        """The sheet that a text describes, one line a rail, everything after the name optional.

        ``NAME nominal VOLTS from A or B made by PART enabled by X and Y order N``, the clauses in any order. In place
        of the volts a standard's name may stand that says them: ``VBUS nominal USB 2.0 host``.
        Raises CircuitError with every line that cannot be read and what to write instead.

        >>> sheet = Rails.read("3V3 from 5V made by U4\\n5V nominal 5 ± 5 % from 12V made by U3 enabled by EN5")
        >>> [rail.name for rail in sheet], sheet["5V"].enables
        (['5V', '3V3'], ('EN5',))
        """
        complaints: list[Complaint] = []
        found: dict[str, Rail] = {}
        for number, row in enumerate(text.splitlines(), 1):
            words = row.split()
            if not words:
                continue
            try:
                rail = _rail(words)
            except KitError as error:
                complaints.append(Complaint(number, error.message))
                continue
            if rail.name.casefold() in found:
                complaints.append(Complaint(number, f"{rail.name} is there already; one line a rail"))
            elif len(found) >= MOST_RAILS:
                raise CircuitError([*complaints, Complaint(number, f"more than {MOST_RAILS} rails")], "the rail sheet")
            found.setdefault(rail.name.casefold(), rail)
        if complaints:
            raise CircuitError(complaints, "the rail sheet")
        return cls(tuple(_spelled(rail, found) for rail in found.values()))

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the rails in start-up order."""
        return tuple(rail.name for rail in self)

    def __iter__(self) -> Iterator[Rail]:
        return iter(_in_order(self.lines))

    def __len__(self) -> int:
        return len(self.lines)

    def __getitem__(self, name: str) -> Rail:
        """A rail by name in any case. Raises UnknownNameError with the nearest."""
        for rail in self.lines:
            if rail.name.casefold() == name.casefold():
                return rail
        raise UnknownNameError("rail", name, [rail.name for rail in self.lines], "the rail sheet")

    def __str__(self) -> str:
        return "\n".join(map(str, self.lines))

    def in_its_names(self, readings: str) -> str:
        """Text of readings, with ``24 V`` and ``3.3 V`` in front of one as the sheet names these rails: 24V, 3V3."""
        named = {
            ".".join(hit.groups("")).rstrip("."): rail.name
            for rail in self.lines
            if (hit := _VOLTS.fullmatch(rail.name))
        }
        return _SPOKEN.sub(lambda hit: hit[1] + named.get(hit[2].replace(",", "."), f"{hit[2]} V"), readings)


def _rail(words: list[str]) -> Rail:
    """One line. Raises CircuitError, QuantityError."""
    name = words[0].removesuffix(":")
    if not is_name(name):
        raise KitError(name_rule("a rail", name), value=name)
    given = _clauses(name, words[1:])
    nominal, limit = _nominal(" ".join(given.get("nominal", [])))
    if nominal is not None and nominal.law == "log-uniform":
        raise KitError(f"{name}: a nominal is one voltage, such as nominal 5 ± 5 %", value=name)
    maker = given.get("made", [])
    if len(maker) > 1:
        raise KitError(f"{name}: made by one part; {' '.join(maker[1:])!r} is not expected", value=name)
    sources = _listed(name, "from", "or", given.get("from", []))
    enables = _listed(name, "enabled by", "and", given.get("enabled", []))
    if name.casefold() in {s.casefold() for s in sources}:
        raise KitError(f"{name} cannot be made from itself; name the rail that feeds it", value=name)
    order = _order(name, given.get("order"))
    return Rail(name, nominal, sources, maker[0] if maker else "", enables, order, limit)


def _nominal(told: str) -> tuple[Spread | None, Limit | None]:
    """Typed volts, or those of the standard that is named. Raises QuantityError, UnknownNameError."""
    if not told:
        return None, None
    if not told[0].isalpha():
        return read_spread(told, "V"), None
    limit = limit_named(told)
    return limit.volts, limit


def _clauses(name: str, words: list[str]) -> dict[str, list[str]]:
    """The words that follow each of ``nominal``, ``from``, ``made by``, ``enabled by``, ``order``."""
    given: dict[str, list[str]] = {}
    clause = ""
    for place, word in enumerate(words):
        key = word.casefold()
        if key in _CLAUSES:
            if key in given:
                raise KitError(f"{name}: {word} stands there twice; join its names with or / and", value=word)
            clause = key
            given[clause] = []
        elif not clause:
            meant = f"nominal {word}" if word[0].isdigit() else _instead(word, words[place + 1 :])
            example = f"{name} {meant}" if meant else _EXAMPLE
            raise KitError(f"{name}: {word!r} is not expected there; write for instance {example}", value=word)
        elif not (key == "by" and clause in ("made", "enabled") and not given[clause]):
            given[clause].append(word)
    for key, rest in given.items():
        if not rest:
            raise KitError(f"{name}: nothing stands after {key!r}; write for instance {_EXAMPLE}", value=key)
    return given


def _instead(word: str, rest: list[str]) -> str:
    """The clause that a word most likely was to begin, with the name after it; "" where none comes near."""
    meant = None if word.casefold() in ("and", "or") else nearest_name(word, _CLAUSES)
    after = next((name for name in rest if name.casefold() != "by"), None)
    if meant is None or after is None:
        return ""
    return f"{meant} by {after}" if meant in ("made", "enabled") else f"{meant} {after}"


def _listed(name: str, clause: str, joint: str, words: list[str]) -> tuple[str, ...]:
    """The names of a clause: ``A or B``, ``X and Y``; a comma joins too."""
    plain = " ".join(words).replace(",", f" {joint} ").split()
    names = plain[::2]
    wrong = next((k for k in range(1, len(plain), 2) if plain[k].casefold() != joint), None)
    if wrong is not None and (meant := _instead(plain[wrong], plain[wrong + 1 :])):
        raise KitError(
            f"{name}: {plain[wrong]!r} is not expected there; write for instance {meant}", value=plain[wrong]
        )
    if wrong is not None or (plain and len(plain) % 2 == 0):
        raise KitError(f"{name}: write {clause} A {joint} B", value=" ".join(words))
    for word in names:
        if not is_name(word):
            raise KitError(name_rule(f"{name}, {clause}", word), value=word)
    return tuple(dict.fromkeys(names))


def _order(name: str, words: list[str] | None) -> int | None:
    if words is None:
        return None
    if len(words) != 1 or not (words[0].isascii() and words[0].isdigit() and len(words[0]) < 6):
        raise KitError(f"{name}: order is a whole number, 1 for what comes up first", value=" ".join(words))
    return int(words[0])


def _spelled(rail: Rail, found: dict[str, Rail]) -> Rail:
    """Names of other rails as their own lines spell them."""

    def own(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(found[n.casefold()].name if n.casefold() in found else n for n in names)

    return replace(rail, sources=own(rail.sources), enables=own(rail.enables))


def _in_order(rails: tuple[Rail, ...]) -> tuple[Rail, ...]:
    """Start-up order: as the sheet numbers it, else what feeds or enables before what waits for it.

    Rails that wait for each other in a circle, and those that wait for nothing, keep the order of the sheet.
    """
    left, ordered, done = list(rails), list[Rail](), set[str]()
    while left:
        ready = [rail for rail in left if _waits_for(rail, rails) <= done] or left[:1]
        ordered.append(ready[0])
        done.add(ready[0].name)
        left.remove(ready[0])
    return tuple(ordered)


def _waits_for(rail: Rail, rails: tuple[Rail, ...]) -> set[str]:
    """Rails of the sheet that come up before this one; where both have a number, the numbers decide."""
    feeds = {*rail.sources, *rail.enables} & {other.name for other in rails}
    numbers = {other.name: other.order for other in rails if other.order is not None}
    if rail.order is None:
        return feeds
    earlier = {name for name, number in numbers.items() if number < rail.order}
    return earlier | {name for name in feeds if name not in numbers}
