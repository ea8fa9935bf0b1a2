"""A connection to a database as the casebook uses one: statements with ``?`` for values, rows as tuples."""

from collections.abc import Iterator, Sequence
from typing import Any, Protocol


class Rows(Protocol):
    """What a statement gave."""

    @property
    def rowcount(self) -> int:
        """How many rows it wrote."""

    def fetchone(self) -> Any:
        """The next row, or None."""

    def fetchall(self) -> list[Any]:
        """All rows that are left."""

    def __iter__(self) -> Iterator[Any]: ...


class Connection(Protocol):
    """One that is open."""

    def execute(self, statement: str, values: Sequence[Any] = (), /) -> Rows:
        """Run one statement."""

    def executemany(self, statement: str, rows: Sequence[Sequence[Any]], /) -> Rows:
        """Run one statement for every row."""
