"""Conditions: what has been done to the board while it is read."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from shouldread.errors import RequestError, UnknownNameError
from shouldread.faults.places import find_pin, find_place
from shouldread.faults.single import by_name
from shouldread.parts import Bridge, Edit, Lift, Part, Remove

DONE = ("bridged", "lifted", "removed")
LINK = 0.01  # ohm of a wire that bridges or links


@dataclass(frozen=True, slots=True)
class Condition:
    """Something done to the board; ``verb`` is empty for free words (``warm``), which change no circuit."""

    text: str
    verb: str = ""
    places: tuple[str, ...] = ()

    def __str__(self) -> str:
        return self.text


def read_conditions(text: str, parts: Iterable[Part], nodes: Iterable[str]) -> tuple[Condition, ...]:
    """``L1 bridged``, ``Q7.2 lifted``, ``C1 removed``, ``A to B linked``, free words; joined by ``and`` or commas.

    Raises UnknownNameError for a part, pin or node that is not there, RequestError for a part that cannot be
    bridged or lifted as a whole.
    """
    known, named = by_name(parts), tuple(nodes)
    pieces = (piece.strip() for piece in re.split(r"\band\b|,", text, flags=re.IGNORECASE))
    return tuple(_condition(piece, known, named) for piece in pieces if piece)


def _condition(text: str, known: Mapping[str, Part], nodes: tuple[str, ...]) -> Condition:
    words = text.split()
    verb = words[-1].casefold()
    if verb == "linked" and len(words) == 4 and words[1].casefold() == "to":
        return _link(words[0], words[2], known, nodes)
    if verb in DONE and len(words) == 2:
        return _done_to(words[0], verb, known)
    if len(words) == 2 and (words[0].casefold() in known or find_pin(words[0], known)) and _nearly(verb):
        raise UnknownNameError("condition", text, [f"{words[0]} {done}" for done in DONE])
    return Condition(" ".join(words))


def _nearly(verb: str) -> bool:
    """Whether a word is a slip for something done: taken as free words it would change no circuit, unseen."""
    return bool(get_close_matches(verb, DONE, cutoff=0.75)) or verb in ("bridge", "lift", "remove", "out", "off")


def _link(a: str, b: str, known: Mapping[str, Part], nodes: tuple[str, ...]) -> Condition:
    places = []
    for word in (a, b):
        place = find_place(word, known, nodes)
        if place is None:
            raise UnknownNameError("place", word, [*nodes, *(part.name for part in known.values())])
        places.append(place)
    return Condition(f"{places[0]} to {places[1]} linked", "linked", tuple(places))


def _done_to(name: str, verb: str, known: Mapping[str, Part]) -> Condition:
    part = known.get(name.casefold())
    if part is not None:
        if verb == "bridged" and len(part.nodes) != 2:
            raise RequestError(
                f"{part.name} has {len(part.nodes)} pins: say which two, as "
                f"{part.name}.{part.pins[0]} to {part.name}.{part.pins[1]} linked",
                value=f"{name} {verb}",
            )
        if verb == "lifted" and len(part.nodes) != 2:
            raise RequestError(
                f"{part.name} has {len(part.nodes)} pins: say which one, as {part.name}.{part.pins[0]} lifted",
                value=f"{name} {verb}",
            )
        return Condition(f"{part.name} {verb}", verb, (part.name,))
    pin = find_pin(name, known)
    if pin is not None and verb == "lifted":
        return Condition(f"{pin[0].name}.{pin[1]} lifted", verb, (pin[0].name, pin[1]))
    raise UnknownNameError("part or pin", name, [part.name for part in known.values()])


def condition_edits(condition: Condition, parts: Iterable[Part]) -> tuple[Edit, ...]:
    """What a condition changes; nothing for free words. A wire goes from pad to pad, whatever the part's joints do."""
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
