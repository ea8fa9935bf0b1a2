"""Stopping long work: whoever waits for it says so, and it ends at its next step."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from shouldread.errors import KitError

_wish: ContextVar[threading.Event | None] = ContextVar("stop", default=None)


class StoppedError(KitError):
    """Work that was stopped by whoever asked for it; what it had worked out is kept for the next time."""


@contextmanager
def stoppable(stop: threading.Event) -> Iterator[None]:
    """Within this block long work of diagnosis ends with StoppedError soon after ``stop`` is set."""
    before = _wish.set(stop)
    try:
        yield
    finally:
        _wish.reset(before)


def go_on() -> None:
    """Does nothing while work may go on. Raises StoppedError once it was stopped."""
    stop = _wish.get()
    if stop is not None and stop.is_set():
        raise StoppedError("stopped")
