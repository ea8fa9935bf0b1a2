"""A desk over a fresh casebook, and messages as the page sends them."""

import itertools
from collections.abc import Callable
from functools import cache
from pathlib import Path

import shouldread as sr
from shouldread.casebook import Casebook
from shouldread.circuit import Circuit
from shouldread.views.desk import Answer, Desk
from shouldread.views.messages import read_message

_NUMBERS = itertools.count(1)
Say = Callable[..., Answer]


def fresh_id() -> str:
    """An id that no other message bears."""
    return f"{next(_NUMBERS):032x}"


@cache
def shelf_circuit(name: str) -> Circuit:
    """A circuit of the shelf, the same object for all: what is worked out of it once is kept."""
    return sr.load_circuit(name)


def desk_over(path: Path, circuit: str | None = None, case: str | None = None) -> tuple[Desk, Say]:
    """The desk, and a function that says a verb to it as the page would."""
    book = Casebook(path)
    loaded = shelf_circuit(circuit) if circuit else None
    desk = Desk(book, book.open(case) if case else None, loaded, "handheld")

    def say(verb: str, text: str = "", uid: str = "", **more: object) -> Answer:
        told = {"do": verb, "id": uid or fresh_id(), "revision": 1, "sent": 1, "text": text, **more}
        return desk.do(read_message(told))

    return desk, say
