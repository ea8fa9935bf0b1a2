"""Cases and the book of them: everything read and done on a board, kept as it happens, found again."""

from shouldread.casebook.book import Casebook, default_address
from shouldread.casebook.case import Case
from shouldread.casebook.event import Event
from shouldread.casebook.hand_over import TakenIn
from shouldread.casebook.known_good import KnownGood
from shouldread.casebook.lessons import Lesson
from shouldread.casebook.photos import Mark
from shouldread.casebook.proof_sheet import board_of, filled, replaced_in
from shouldread.casebook.said import items_of, placed
from shouldread.casebook.search import Hit
from shouldread.casebook.similar import Likeness

__all__ = [
    "Case",
    "Casebook",
    "Event",
    "Hit",
    "KnownGood",
    "Lesson",
    "Likeness",
    "Mark",
    "TakenIn",
    "board_of",
    "default_address",
    "filled",
    "items_of",
    "placed",
    "replaced_in",
]
