"""Fault and condition names as people write them."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from shouldread.errors import RequestError, UnknownNameError
from shouldread.faults.fault import Fault
from shouldread.faults.places import find_pin, find_place
from shouldread.faults.single import by_name, single_faults
from shouldread.parts import Bridge, Edit, Lift, Part, Remove
from shouldread.quantities import si_number

LINK = 0.01  # ohm of a wire that bridges or links


@dataclass(frozen=True, slots=True)
class Condition:
    """Something done to the board; ``verb`` is empty for free words (``warm``), which change no circuit."""

    text: str
    verb: str = ""
    places: tuple[str, ...] = ()

    def __str__(self) -> str:
        return self.text


def read_fault(text: str, parts: Iterable[Part], neighbours: Iterable[tuple[str, str]] = ()) -> tuple[Fault, ...]:
    """The fault that a text names; several where it names several (``R3 drifted``); one pair for ``A + B``.

    Raises UnknownNameError with the nearest name, QuantityError for a severity that is none.
    """
    listed = tuple(parts)
    pieces = [p.strip() for p in re.split(r"\s\+\s", text) if p.strip()]
    if len(pieces) > 1:
        members = tuple(read_fault(p, listed, neighbours)[0] for p in pieces)
        names = tuple(dict.fromkeys(n for m in members for n in m.parts))
        return (
            Fault(
                names,
                "pair",
                name=" + ".join(m.name for m in members),
                members=members,
                prior=min(m.prior for m in members),
            ),
        )
    known = single_faults(listed, neighbours)
    wanted = " ".join(text.split()).casefold()
    rails = {p.nodes[0].casefold(): p.name for p in listed if p.kind == "V"}
    head, _, tail = wanted.partition(" ")
    if head in rails and head not in by_name(listed):
        wanted = f"{rails[head].casefold()} {tail}"
    exact = [f for f in known if f.name.casefold() == wanted]
    if exact:
        return tuple(exact[:1])
    both = [f for f in known if f.name.casefold() in (f"{wanted} high", f"{wanted} low")]
    if both:
        return tuple(both)
    return (_graded(wanted, text, known),)


def _graded(wanted: str, text: str, known: tuple[Fault, ...]) -> Fault:
    plain, _, figure = wanted.rpartition(" ")
    raw = text.split()[-1] if text.split() else ""
    if hit := re.fullmatch(r"x(\d+(?:[.,]\d+)?(?:e[+-]?\d+)?)", figure):
        factor = float(hit[1].replace(",", "."))
        side = "high" if factor > 1 else "low"
        for fault in known:
            if fault.severity_range and fault.name.casefold() in (plain, f"{plain} {side}"):
                return fault.with_severity(factor)
    elif any(c.isdigit() for c in figure):
        for fault in known:
            if fault.severity_range and fault.name.casefold() == plain:
                return fault.with_severity(si_number(raw)[0])
    raise UnknownNameError("fault", text, [f.name for f in known])


def read_conditions(text: str, parts: Iterable[Part], nodes: Iterable[str]) -> tuple[Condition, ...]:
    """``L1 bridged``, ``Q7.2 lifted``, ``C1 removed``, ``A to B linked``, free words; joined by ``and``."""
    known, named = by_name(parts), tuple(nodes)
    return tuple(_condition(piece.strip(), known, named) for piece in re.split(r"\band\b|,", text) if piece.strip())


def _condition(text: str, known: dict[str, Part], nodes: tuple[str, ...]) -> Condition:  # type: ignore[valid-type]
    words = text.split()
    verb = words[-1].casefold()
    if verb == "linked" and len(words) == 4 and words[1].casefold() == "to":
        places = [find_place(w, known, nodes) for w in (words[0], words[2])]
        for word, place in zip((words[0], words[2]), places, strict=True):
            if place is None:
                raise UnknownNameError("place", word, [*nodes, *(p.name for p in known.values())])
        return Condition(f"{places[0]} to {places[1]} linked", "linked", tuple(map(str, places)))
    if verb in ("bridged", "lifted", "removed") and len(words) == 2:
        part = known.get(words[0].casefold())
        if part is not None:
            if verb == "bridged" and len(part.nodes) != 2:
                raise RequestError(
                    f"{part.name} has {len(part.nodes)} pins: say which two, as A to B linked", value=text
                )
            return Condition(f"{part.name} {verb}", verb, (part.name,))
        pin = find_pin(words[0], known)
        if pin is not None and verb == "lifted":
            return Condition(f"{pin[0].name}.{pin[1]} lifted", verb, (pin[0].name, pin[1]))
        raise UnknownNameError("part or pin", words[0], [p.name for p in known.values()])
    return Condition(" ".join(words))


def condition_edits(condition: Condition, parts: Iterable[Part]) -> tuple[Edit, ...]:
    """What a condition changes; nothing for free words."""
    known = by_name(parts)
    if condition.verb == "linked":
        return (Bridge(condition.places[0], condition.places[1], LINK, str(condition)),)
    if not condition.verb:
        return ()
    part = known[condition.places[0].casefold()]
    if condition.verb == "bridged":
        return (Bridge(part.nodes[0], part.nodes[1], LINK, str(condition)),)
    if condition.verb == "removed":
        return (Remove(part.name),)
    return (Lift(part.name, condition.places[1] if len(condition.places) > 1 else part.pins[0]),)
