"""A worker: does one job in a thread of its own, as often as it is asked to, never twice at once."""

import threading
from collections.abc import Callable


class Worker:
    """Runs ``job`` once for any number of requests that came in while it was busy; the newest state counts.

    What the page says must be answered at once, so nobody who answers may wait for a long thought.
    """

    def __init__(self, job: Callable[[], None]) -> None:
        self._job = job
        self._lock = threading.Lock()
        self._idle = threading.Condition(self._lock)
        self._asked = self._done = 0
        self.trouble: Exception | None = None  # what the last run stumbled over
        self._thread: threading.Thread | None = None

    def ask(self) -> None:
        """Have the job done soon."""
        with self._lock:
            self._asked += 1
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="bench", daemon=True)
                self._thread.start()

    def wait(self, seconds: float | None = None) -> bool:
        """Wait until everything asked for is done. Returns whether it is; raises what the last run stumbled over."""
        with self._idle:
            done = self._idle.wait_for(lambda: self._done == self._asked, seconds)
        if done and self.trouble is not None:
            raise self.trouble
        return done

    def _run(self) -> None:
        while True:
            with self._lock:
                number = self._asked
            try:
                self._job()
                self.trouble = None
            except Exception as trouble:  # a stumble in one thought must not end all thinking
                self.trouble = trouble
            with self._idle:
                self._done = number
                self._idle.notify_all()
                if self._asked == number:
                    self._thread = None
                    return
