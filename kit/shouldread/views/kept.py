"""What is kept: the case behind a bench, opened with the first thing typed, and what stands in it."""

from collections.abc import Mapping
from datetime import date

from shouldread.casebook import Case, Casebook, Event, placed
from shouldread.circuit import Circuit, Rails
from shouldread.meter import Observation, Reading

Item = Reading | Observation
READ = ("reading", "observation")
MOST_OFFERED = 8


_PLANNED: set[tuple[str, str]] = set()  # names promised to benches of this kernel that nobody typed at yet


def free_name(book: Casebook) -> str:
    """A name for a new case: the day and the first number that is free, the same again after a restart."""
    taken = {case.name for case in book}
    day, where = date.today().isoformat(), str(book.path)
    names = (f"{day} {number}" for number in range(1, 100_000))
    name = next(name for name in names if name not in taken and (where, name) not in _PLANNED)
    _PLANNED.add((where, name))
    return name


class Kept:
    """A case as the bench sees it. Nothing is made in the casebook before something is typed."""

    def __init__(self, book: Casebook, case: Case | None, circuit: Circuit | None) -> None:
        self._book, self._case = book, case
        self._given = circuit
        self.name = case.name if case is not None else free_name(book)
        if case is not None and circuit is not None and not _same(case.circuit, circuit):
            case.use(circuit)

    @property
    def book(self) -> Casebook:
        """The casebook that it stands in."""
        return self._book

    @property
    def case(self) -> Case:
        """The case, made now if nothing was typed before."""
        if self._case is None:
            if any(case.name == self.name for case in self._book):  # another kernel was quicker
                self.name = free_name(self._book)
            self._case = self._book.open(self.name)
            if self._given is not None:
                self._case.use(self._given)
        return self._case

    def go_on(self, case: Case) -> None:
        """Put another case on the bench."""
        self._case, self.name = case, case.name
        if case.last("circuit") is None:
            self._given = None

    def others(self) -> list[tuple[str, str]]:
        """Name and board of the newest cases that are not on the bench."""
        rows = [(case.name, case.board) for case in self._book if case.name != self.name]
        return rows[:MOST_OFFERED]

    @property
    def is_empty(self) -> bool:
        """Whether nothing was typed yet."""
        return self._case is None

    @property
    def circuit(self) -> Circuit | None:
        """The circuit on the bench: the same one as long as the case names no other."""
        text = str(self.last("circuit").get("text", ""))
        if text and self._case is not None and (self._given is None or self._given.text != text):
            self._given = self._case.circuit
        return self._given

    def standing(self) -> tuple[Event, ...]:
        """The events that nobody took back."""
        return self._case.standing() if self._case is not None else ()

    def last(self, kind: str) -> Mapping[str, object]:
        """The body of the newest event of a kind, empty when there is none."""
        return (self._case.last(kind) if self._case is not None else None) or {}

    def text(self, kind: str) -> str:
        """The text of the newest event of a kind."""
        return str(self.last(kind).get("text", ""))

    @property
    def board(self) -> str:
        """Marking of the board."""
        return self.text("board") or (self._case.board if self._case is not None else "")

    @property
    def symptom(self) -> str:
        """What the owner says is wrong."""
        return self.text("symptom") or str(self.last("opened").get("symptom", ""))

    @property
    def last_read(self) -> Event | None:
        """The newest reading or observation that stands."""
        return next((event for event in reversed(self.standing()) if event.kind in READ), None)

    def stage_items(self) -> tuple[Item, ...]:
        """Readings and observations that the circuit on the bench can place, in order."""
        circuit = self.circuit
        if circuit is None:
            return ()
        found: list[Item] = []
        for event, items, of in placed(self.standing()):
            if not event.body.get("good") and not event.body.get("rails") and _same(of, circuit):
                found += items
        return tuple(found)

    def rail_items(self) -> tuple[Item, ...]:
        """Readings of rails and converter pins, and those of the circuit's nodes that the sheet names as rails."""
        circuit, sheet = self.circuit, {rail.name for rail in self.sheet}
        found: list[Item] = []
        for event, items, _ in placed(self.standing()):
            if not event.body.get("good"):
                of_rails = bool(event.body.get("rails")) or circuit is None
                found += [i for i in items if of_rails or i.place in sheet]
        return tuple(found)

    @property
    def sheet(self) -> Rails:
        """The rail sheet as it stands."""
        return Rails.read(self.text("sheet"))


def _same(one: Circuit | None, other: Circuit) -> bool:
    return one is not None and one.text == other.text
