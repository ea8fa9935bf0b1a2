"""A worker: does one job in a thread of its own, as often as it is asked to, never twice at once."""

import sys
import threading
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from shouldread.diagnosis import StoppedError, stoppable

TURN = 0.0005  # s after which a thought lets others run: a key press passes through four threads on its way
PAUSE = 1.0  # s without a question after which the time counts as idle
_turns = threading.Lock()
_usual: list[float] = []  # what stood before the first of the thoughts that run now, once for each of them


class Worker:
    """Runs ``job`` once for any number of requests that came in while it was busy; the newest state counts.

    What the page says must be answered at once, so nobody who answers may wait for a long thought. ``idly`` is done
    while nothing is asked for, a step at a time; nobody waits for it either.
    """

    def __init__(self, job: Callable[[], None], idly: Callable[[], Iterator[None]] = lambda: iter(())) -> None:
        self._job, self._idly = job, idly
        self._wanted = threading.Event()
        self._lock = threading.Lock()
        self._idle = threading.Condition(self._lock)
        self._hushing, self._musing = 0, False  # who wants nothing done idly, and whether something is
        self._again = False
        self._asked = self._done = 0
        self.trouble: Exception | None = None  # what the last run stumbled over
        self._thread: threading.Thread | None = None

    def ask(self) -> None:
        """Have the job done soon."""
        with self._lock:
            self._asked += 1
            self._wanted.set()
            self._begin()

    def wait(self, seconds: float | None = None) -> bool:
        """Wait until everything asked for is done. Returns whether it is; raises what the last run stumbled over."""
        with self._idle:
            done = self._idle.wait_for(lambda: self._done == self._asked, seconds)
        if done and self.trouble is not None:
            raise self.trouble
        return done

    @contextmanager
    def hushed(self) -> Iterator[None]:
        """Nothing is done idly within this block. Whoever asks something else waits for a step at most, and not for others
        who ask."""
        with self._idle:
            self._hushing += 1
            self._wanted.set()
            self._idle.wait_for(lambda: not self._musing)
        try:
            yield
        finally:
            with self._lock:
                self._hushing -= 1
                self._again = True
                self._begin()

    def _begin(self) -> None:
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="bench", daemon=True)
            self._thread.start()

    def _run(self) -> None:
        while True:
            with self._lock:
                number, self._again = self._asked, False
                self._wanted.clear()
            if number != self._done:
                self._do(number)
            self._while_idle()
            with self._lock:
                if self._asked == number and not self._again:
                    self._thread = None
                    return

    def _do(self, number: int) -> None:
        try:
            with short_turns():
                self._job()
            self.trouble = None
        except Exception as trouble:  # a stumble in one thought must not end all thinking
            self.trouble = trouble
        with self._idle:
            self._done = number
            self._idle.notify_all()

    def _while_idle(self) -> None:
        """Go on with what is done idly until it is done or something is asked for; a stumble in it ends it."""
        if self._wanted.wait(PAUSE):
            return
        with self._lock:
            if self._hushing:
                return
            self._musing = True
        try:
            with short_turns(), stoppable(self._wanted), suppress(StoppedError):
                for _ in self._idly():
                    if self._wanted.is_set():
                        return
        except Exception:
            traceback.print_exc()
        finally:
            with self._idle:
                self._musing = False
                self._idle.notify_all()


@contextmanager
def short_turns() -> Iterator[None]:
    """While a thought runs, whoever answers the page gets the interpreter soon after asking for it."""
    with _turns:
        _usual.append(_usual[0] if _usual else sys.getswitchinterval())
        sys.setswitchinterval(min(TURN, _usual[0]))
    try:
        yield
    finally:
        with _turns:
            stood = _usual.pop()
            if not _usual:
                sys.setswitchinterval(stood)
