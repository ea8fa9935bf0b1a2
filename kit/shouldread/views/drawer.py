"""The drawer: lays a circuit out; shows a quick drawing when the good one takes longer than one waits."""

import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as TookTooLong

from shouldread.circuit import Circuit
from shouldread.drawing import Drawing, Positions, crossings, lay_out
from shouldread.errors import KitError

PATIENCE = 1.5  # s: a shipped circuit, whose places are kept, is drawn well within this


class Drawer:
    """Keeps the drawing of the circuit on the bench; ``better`` is called when a better one is ready.

    One that ``follows`` starts from where the last drawing had its parts, so that a part more moves little.
    """

    def __init__(self, better: Callable[[], None], follows: bool = False) -> None:
        self._better, self._follows = better, follows
        self._lock = threading.Lock()
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="drawing")
        self._circuit: Circuit | None = None
        self._drawing: Drawing | None = None
        self.trouble = ""  # why there is no drawing

    def drawing(self, circuit: Circuit | None) -> Drawing | None:
        """The best drawing there is by now."""
        with self._lock:
            if circuit is self._circuit:
                return self._drawing
            before = self._drawing.positions if self._drawing is not None and self._follows else None
            self._circuit, self._drawing, self.trouble = circuit, None, ""
        if circuit is None:
            return None
        good = self._pool.submit(_laid, circuit, before)
        try:
            drawing = good.result(PATIENCE)
        except KitError as trouble:
            self.trouble = f"no drawing: {trouble}"
            return None
        except TookTooLong:
            drawing = lay_out(circuit, effort="first")
            good.add_done_callback(lambda done: self._arrived(circuit, done))
        with self._lock:
            if self._circuit is circuit and self._drawing is None:
                self._drawing = drawing
            return self._drawing

    def _arrived(self, circuit: Circuit, done: "Future[Drawing]") -> None:
        """The good one is here: take it, unless another circuit came onto the bench meanwhile."""
        with self._lock:
            if self._circuit is not circuit or done.exception() is not None:
                return
            self._drawing = done.result()
        self._better()


def _laid(circuit: Circuit, before: Positions | None) -> Drawing:
    """Laid out from where the parts were, unless a fresh start crosses fewer wires."""
    fresh = lay_out(circuit)
    if before is None:
        return fresh
    kept = lay_out(circuit, positions=before)
    return kept if crossings(kept) <= crossings(fresh) else fresh
