"""What a page, a road or a comparison needs of a case."""

from collections.abc import Mapping
from typing import Protocol

from shouldread.casebook.event import Event
from shouldread.circuit import Circuit


class Record(Protocol):
    """A case as its readers see it."""

    @property
    def id(self) -> int:
        """Row in the store."""

    @property
    def name(self) -> str:
        """Name of the case."""

    @property
    def board(self) -> str:
        """Marking of the board."""

    @property
    def circuit(self) -> Circuit | None:
        """The circuit in use."""

    @property
    def text(self) -> str:
        """Standing readings and observations as ``diagnose`` takes them."""

    @property
    def events(self) -> tuple[Event, ...]:
        """Everything that happened, oldest first."""

    def standing(self) -> tuple[Event, ...]:
        """The events that nobody took back."""

    def last(self, kind: str) -> Mapping[str, object] | None:
        """Body of the newest standing event of a kind."""

    def photo(self, sha256: str) -> bytes:
        """A kept photo as PNG bytes."""
