"""The saved copy of a bench: two more outputs of its cell, kept up to date while one works."""

import threading
import time

from IPython.display import DisplayHandle, display

from shouldread.drawing import Drawing
from shouldread.views.saved import saved_picture, saved_table
from shouldread.views.words import State
from shouldread.views.worker import short_turns

PAUSE = 0.5  # s without a new reading before the copy is refreshed: a picture costs more than an answer may
LATEST = 3.0  # s after which it is refreshed even while somebody types on


class SavedCopies:
    """Picture and table of the same cell, kept up to date so that saving the notebook saves what was read."""

    def __init__(self, states: dict[str, State], drawing: Drawing | None) -> None:
        self._states, self._drawing = states, drawing
        self._lock, self._showing = threading.Lock(), threading.Lock()
        self._waiting = False
        self._newest = 0.0
        self._picture = self._shown(saved_picture(states, drawing))
        self._table = self._shown(saved_table(states))

    @staticmethod
    def _shown(copy: tuple[dict[str, object], dict[str, object]]) -> DisplayHandle:
        handle = display(copy[0], metadata=copy[1], raw=True, display_id=True)  # type: ignore[no-untyped-call]
        assert isinstance(handle, DisplayHandle)
        return handle

    def refresh(self, states: dict[str, State], drawing: Drawing | None) -> None:
        """Show the new states at the next pause of typing; several readings in a row cost one refresh."""
        with self._lock:
            self._states, self._drawing, self._newest = states, drawing, time.monotonic()
            if not self._waiting:
                self._waiting = True
                threading.Thread(target=self._update, name="saved copy", daemon=True).start()

    def _update(self) -> None:
        with self._showing, short_turns():
            states, drawing = self._at_a_pause()
            for handle, (data, metadata) in (
                (self._picture, saved_picture(states, drawing)),
                (self._table, saved_table(states)),
            ):
                handle.update(data, metadata=metadata, raw=True)  # type: ignore[no-untyped-call]

    def _at_a_pause(self) -> tuple[dict[str, State], Drawing | None]:
        """Wait for a pause of typing and take the newest states; whatever comes later begins a refresh of its own."""
        end = time.monotonic() + LATEST
        while (wait := min(self._newest + PAUSE, end) - time.monotonic()) > 0:
            time.sleep(wait)
        with self._lock:
            self._waiting = False
            return self._states, self._drawing
