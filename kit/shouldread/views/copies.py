"""The saved copy of a bench: two more outputs of its cell, kept up to date while one works."""

import threading

from IPython.display import DisplayHandle, display

from shouldread.drawing import Drawing
from shouldread.views.saved import saved_picture, saved_table
from shouldread.views.words import State

PAUSE = 0.5  # s between two refreshes: a picture costs more than an answer may


class SavedCopies:
    """Picture and table of the same cell, kept up to date so that saving the notebook saves what was read."""

    def __init__(self, states: dict[str, State], drawing: Drawing | None) -> None:
        self._states, self._drawing = states, drawing
        self._timer: threading.Timer | None = None
        self._picture = self._shown(saved_picture(states, drawing))
        self._table = self._shown(saved_table(states))

    @staticmethod
    def _shown(copy: tuple[dict[str, object], dict[str, object]]) -> DisplayHandle:
        handle = display(copy[0], metadata=copy[1], raw=True, display_id=True)  # type: ignore[no-untyped-call]
        assert isinstance(handle, DisplayHandle)
        return handle

    def refresh(self, states: dict[str, State], drawing: Drawing | None) -> None:
        """Show the new states soon; several readings in a row cost one refresh."""
        self._states, self._drawing = states, drawing
        if self._timer is None or not self._timer.is_alive():
            self._timer = threading.Timer(PAUSE, self._update)
            self._timer.daemon = True
            self._timer.start()

    def _update(self) -> None:
        states = self._states
        for handle, (data, metadata) in (
            (self._picture, saved_picture(states, self._drawing)),
            (self._table, saved_table(states)),
        ):
            handle.update(data, metadata=metadata, raw=True)  # type: ignore[no-untyped-call]
        if states is not self._states:
            self._update()
