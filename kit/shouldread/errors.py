"""What the kit raises: one family, each also the natural builtin, each carrying its evidence."""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches


def nearest_name(value: str, known: Iterable[str]) -> str | None:
    """The known name most like ``value``, or None when nothing comes close."""
    names = list(known)
    folded = {name.casefold(): name for name in reversed(names)}
    hits = get_close_matches(value.casefold(), folded, n=1, cutoff=0.5)
    return folded[hits[0]] if hits else None


class KitError(Exception):
    """An impossible request: says what was given, what is known, and the nearest to it."""

    def __init__(self, message: str, *, value: object = None, known: Iterable[str] = ()) -> None:
        self.message = message
        self.value = value
        self.known = tuple(known)
        self.nearest = nearest_name(value, self.known) if isinstance(value, str) else None
        super().__init__(message)

    def __str__(self) -> str:
        return self.message


class UnknownNameError(KitError, KeyError):
    """A name (node, part, fault, state, meter, circuit, unit) that nothing here bears."""

    def __init__(self, what: str, value: str, known: Iterable[str], where: str = "") -> None:
        names = tuple(known)
        near = nearest_name(value, names)
        hint = f"; nearest: {near}" if near else ""
        listed = ", ".join(names[:12]) + (", ..." if len(names) > 12 else "")
        place = f" in {where}" if where else ""
        super().__init__(
            f"there is no {what} {value!r}{place}{hint}. Known: {listed or 'none'}.", value=value, known=names
        )


class QuantityError(KitError, ValueError):
    """A number or unit that cannot be read."""


class ReadingError(KitError, ValueError):
    """A typed reading that cannot be taken as it stands; says what to add."""


class RequestError(KitError, ValueError):
    """A request that makes no sense as put (ohms on a fed state, a value for a part that has none)."""


class CaseError(KitError, OSError):
    """A casebook that cannot be opened, read or written."""


@dataclass(frozen=True, slots=True)
class Complaint:
    """One mistake in a circuit file: the line it stands on (from 1) and what to write instead."""

    line: int
    text: str

    def __str__(self) -> str:
        return f"line {self.line}: {self.text}"


class CircuitError(KitError, ValueError):
    """All complaints of one circuit file at once."""

    def __init__(self, complaints: Iterable[Complaint], source: str = "the circuit") -> None:
        self.complaints = tuple(sorted(complaints, key=lambda c: c.line))
        head = f"{source}: {len(self.complaints)} mistake{'s' if len(self.complaints) != 1 else ''}"
        super().__init__("\n".join([head, *map(str, self.complaints)]))
