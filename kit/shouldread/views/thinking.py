"""What the readings of a case mean: asked of the other rooms, kept as long as nothing changed."""

from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager

from shouldread.casebook import Casebook
from shouldread.circuit import Circuit
from shouldread.diagnosis import Diagnosis, Expectation, StoppedError, diagnose, expect
from shouldread.errors import KitError
from shouldread.meter import Observation, Reading
from shouldread.views.stage import Look

Item = Reading | Observation
MOST_KEPT = 24  # expectations: settings x states x conditions of a bench


class Thinking:
    """Healthy bands and the diagnosis of one circuit; every further reading costs one step, not all anew."""

    def __init__(self, circuit: Circuit, book: Casebook | None) -> None:
        self.circuit = circuit
        self._book = book
        self._expectations: dict[Look, Expectation] = {}
        self._chain: list[tuple[Item, Diagnosis]] = []
        self._meter = ""
        self._first: Diagnosis | None = None
        self.unused: tuple[str, ...] = ()

    def expectation(self, look: Look) -> Expectation:
        """What every point should read in view of setting, state, condition and meter."""
        if look not in self._expectations:
            if len(self._expectations) >= MOST_KEPT:
                self._expectations.pop(next(iter(self._expectations)))
            circuit = self.circuit
            for name in [part.strip() for part in look.condition.split(" and ") if part.strip()]:
                circuit = circuit.with_condition(name)
            self._expectations[look] = expect(
                circuit, state=look.state or None, setting=look.setting, meter=look.meter
            )
        return self._expectations[look]

    def known(self, look: Look) -> Expectation | None:
        """What every point should read in that view, where it was worked out already."""
        return self._expectations.get(look)

    def diagnosis(self, items: Sequence[Item], meter: str) -> Diagnosis:
        """The diagnosis of all items that it can take; what it cannot take is said in ``unused``."""
        if self._first is None or meter != self._meter:
            self._meter, self._chain = meter, []
            known = self._book if self._book is not None and self._book.cause_counts() else None
            self._first = diagnose(self.circuit, "", meter=meter, casebook=known)
        kept = _common(self._chain, items)
        self._chain = self._chain[:kept]
        standing, unused = self._chain[-1][1] if kept else self._first, list[str]()
        for item in items[kept:]:
            try:
                standing = standing.also([item])
            except StoppedError:
                raise
            except KitError as trouble:
                unused.append(f"not used: {item}: {trouble}")
            self._chain.append((item, standing))
        self.unused = tuple(dict.fromkeys(unused))
        return standing

    @property
    def has_begun(self) -> bool:
        """Whether suspects were weighed at all."""
        return self._first is not None

    @property
    def road(self) -> tuple[tuple[Item, Diagnosis], ...]:
        """Every item with what stood after it."""
        return tuple(self._chain)


def each_within(lock: AbstractContextManager[object], steps: Iterator[None]) -> Iterator[None]:
    """Steps of some work, each of them within a lock."""
    while True:
        with lock:
            try:
                next(steps)
            except StopIteration:
                return
        yield


def _common(chain: Sequence[tuple[Item, Diagnosis]], items: Sequence[Item]) -> int:
    """How many items at the start are those of the chain."""
    count = 0
    for (old, _), new in zip(chain, items, strict=False):
        if old != new:
            break
        count += 1
    return count
