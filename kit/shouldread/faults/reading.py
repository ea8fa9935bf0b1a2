"""Fault names as people write them: canonical spellings, rail names, pairs, severities."""

import re
from collections.abc import Iterable, Iterator, Mapping
from itertools import product

from shouldread.errors import RequestError, UnknownNameError
from shouldread.faults.fault import Fault
from shouldread.faults.grades import read_severity
from shouldread.faults.places import find_pin, find_place, nodes_of
from shouldread.faults.single import bridge_fault, by_name, joint_fault, modes_of, part_faults, single_faults
from shouldread.faults.wording import compact
from shouldread.parts import Part

_CONDITION = re.compile(r".+\s(bridged|lifted|removed|linked)", re.IGNORECASE)
_PAIR_OF_PINS = re.compile(r"([a-z]+)[-–/ ]([a-z]+) short", re.IGNORECASE)


def read_fault(text: str, parts: Iterable[Part], neighbours: Iterable[tuple[str, str]] = ()) -> tuple[Fault, ...]:
    """The fault that a text names; several where it names several (``R3 drifted``); one pair for ``A + B``.

    Any case is accepted, a rail's name for its source (``12V_AUX absent``), a pin by name or number
    (``U1.3 joint open``), a severity as factor (``R3 drifted x4``, ``+40 %``), as the value it drifted to
    (``R3 drifted 22k``) or in ohms (``C4 leaky 1k``).
    Raises UnknownNameError with the nearest name; RequestError for a severity where there is none, a drift of
    a value that nobody knows, or a condition in place of a fault; QuantityError for a figure that is none.
    """
    listed = tuple(parts)
    pieces = [piece.strip() for piece in re.split(r"\s\+\s", text) if piece.strip()]
    reader = _Reader(listed, tuple(neighbours))
    if len(pieces) < 2:
        return reader.read(" ".join(text.split()))
    alternatives = product(*(reader.read(" ".join(piece.split())) for piece in pieces))
    return tuple(_together(members) for members in alternatives)


def _together(members: tuple[Fault, ...]) -> Fault:
    names = tuple(dict.fromkeys(name for member in members for name in member.parts))
    return Fault(
        parts=names,
        mode="pair",
        name=" + ".join(member.name for member in members),
        prior=min(member.prior for member in members),
        members=members,
    )


class _Reader:
    """Reads one fault name against the parts of a circuit."""

    def __init__(self, parts: tuple[Part, ...], neighbours: tuple[tuple[str, str], ...]) -> None:
        self.parts = parts
        self.neighbours = neighbours
        self.known: Mapping[str, Part] = by_name(parts)

    def read(self, text: str) -> tuple[Fault, ...]:
        """The fault or faults of one piece without ``+``. Raises as read_fault."""
        folded = text.casefold()
        if folded.endswith(" joint open"):
            return (self._joint(text),)
        if folded.endswith(" bridged") and (bridge := self._bridge(text)) is not None:
            return (bridge,)
        for part, rest in self._cuts(text):
            if found := _of_part(part, rest):
                return found
        if _CONDITION.fullmatch(text):
            raise RequestError(
                f"{text!r} is something done to the board, not a fault: give it as a condition. A fault reads "
                f"{self._example()!r}.",
                value=text,
            )
        raise self._unknown(text)

    def _cuts(self, text: str) -> Iterator[tuple[Part, str]]:
        """Parts that the text may begin with, longest name first, and the rest; then the source of a rail."""
        folded = text.casefold()
        for name in sorted(self.known, key=len, reverse=True):
            if folded.startswith(f"{name} "):
                yield self.known[name], text[len(name) + 1 :]
        feeds = [p for p in self.parts if p.kind == "V" or (p.block is not None and _feeds(p))]
        for part in sorted(feeds, key=lambda p: -len(p.nodes[0])):
            if folded.startswith(f"{part.nodes[0].casefold()} "):
                yield part, text[len(part.nodes[0]) + 1 :]

    def _joint(self, text: str) -> Fault:
        """``U1.3 joint open``; on a part whose pins fail as open, that open."""
        place = text[: -len(" joint open")]
        hit = find_pin(place, self.known)
        if hit is None:
            raise self._unknown(text)
        part, pin = hit
        if part.block is not None:
            return joint_fault(part, pin)
        opens = {mode.edits[0][1]: mode.name for mode in modes_of(part) if mode.edits[0][0] == "lift"}
        way = opens.get(pin) or next(iter(opens.values()), "")
        found = _of_part(part, way)
        if not found:
            raise self._unknown(text)
        return found[0]

    def _bridge(self, text: str) -> Fault | None:
        """``U1.3-U1.4 bridged``: two places with a solder bridge between them; None when they are no places."""
        body, nodes = text[: -len(" bridged")], nodes_of(self.parts)
        for at, sign in enumerate(body):
            if sign != "-":
                continue
            a, b = (find_place(side, self.known, nodes) for side in (body[:at], body[at + 1 :]))
            if a is not None and b is not None and a != b:
                owners = (place.rpartition(".")[0] for place in (a, b))
                names = {part.name for part in self.parts}
                return bridge_fault(a, b, tuple(dict.fromkeys(owner for owner in owners if owner in names)))
        return None

    def _example(self) -> str:
        return next((fault.name for part in self.parts for fault in part_faults(part)), "R1 open")

    def _unknown(self, text: str) -> UnknownNameError:
        """Nothing bears that name: what the named part could have, else every fault."""
        named = self.known.get(text.partition(" ")[0].partition(".")[0].casefold())
        names = [fault.name for fault in part_faults(named)] if named is not None else []
        return UnknownNameError("fault", text, names or [f.name for f in single_faults(self.parts, self.neighbours)])


def _feeds(part: Part) -> bool:
    return part.block is not None and any(effect.name == "absent" for effect in part.block.effects)


def _of_part(part: Part, rest: str) -> tuple[Fault, ...]:
    """The faults of a part that the words after its name mean; none when they mean nothing."""
    faults = {fault.name[len(part.name) + 1 :].casefold(): fault for fault in part_faults(part)}
    wanted = _spelled(rest.casefold(), faults)
    if wanted in faults:
        return (faults[wanted],)
    if wanted.split(" ")[0] == "drifted" and part.value is not None and part.value.wide:
        raise RequestError(
            f"{part.name} {rest}: its value is known no better than {compact(part.value.low)} to "
            f"{compact(part.value.high)}, so there is no drift to speak of; give it a value first",
            value=f"{part.name} {rest}",
        )
    sides = tuple(faults[f"{wanted} {side}"] for side in ("high", "low") if f"{wanted} {side}" in faults)
    return sides or _graded(part, rest, wanted, faults)


def _graded(part: Part, rest: str, wanted: str, faults: Mapping[str, Fault]) -> tuple[Fault, ...]:
    """A way to fail with how bad behind it: ``leaky 1k``, ``drifted x4``."""
    ways: dict[str, tuple[Fault, ...]] = {way: (fault,) for way, fault in faults.items()}
    both = [way for way in ways if way.endswith((" high", " low"))]
    for plain in {way.rpartition(" ")[0] for way in both}:
        ways[plain] = tuple(faults[f"{plain} {side}"] for side in ("high", "low") if f"{plain} {side}" in faults)
    for way in sorted(ways, key=len, reverse=True):
        if wanted.startswith(f"{way} "):
            figure = rest[len(rest) - len(wanted) + len(way) + 1 :]
            return (read_severity(part, ways[way], figure),)
    return ()


def _spelled(rest: str, faults: Mapping[str, Fault]) -> str:
    """A short between two pins in canonical spelling, whichever order or letters they are given in."""
    hit = _PAIR_OF_PINS.fullmatch(rest)
    if hit is None:
        return rest
    for name in faults:
        canonical = _PAIR_OF_PINS.fullmatch(name)
        if canonical and _same(hit.groups(), canonical.groups()):
            return name
    return rest


def _same(given: tuple[str, ...], canonical: tuple[str, ...]) -> bool:
    """Whether two pairs of pins are one: whole words or their first letters, in either order."""

    def fits(one: str, other: str) -> bool:
        return one == other or (len(one) == 1 and other.startswith(one))

    return any(all(map(fits, given, order)) for order in (canonical, canonical[::-1]))
