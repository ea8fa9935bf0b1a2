"""What was worked out last of a circuit, kept for the next who asks."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Found = TypeVar("Found")


class Remembered(Generic[Found]):
    """Answers by an owner (the very object, not one that equals it) and a key; the oldest of ``most`` are let go.

    An owner is held as long as its answers are, so that no other object can come to stand in its place.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._found: OrderedDict[tuple[int, Hashable], tuple[object, Found]] = OrderedDict()

    def get(self, owner: object, key: Hashable, make: Callable[[], Found]) -> Found:
        """The answer that is kept, or the one that ``make`` gives."""
        place = id(owner), key
        kept = self._found.get(place)
        if kept is not None:
            return kept[1]
        made = make()
        self._found[place] = owner, made
        while len(self._found) > self._most:
            self._found.popitem(last=False)
        return made


__all__ = ["Remembered"]
