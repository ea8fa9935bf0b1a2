"""The same job for many, on two processors: compiled kernels run without the interpreter's lock."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from threading import current_thread
from typing import TypeVar

from shouldread.diagnosis.stopping import go_on

Item = TypeVar("Item")
Done = TypeVar("Done")

THREADS = 2
_NAME = "faults"
FEW = 8  # jobs that are not worth a second thread


def abreast(job: Callable[[Item], Done], items: Sequence[Item], few: int = FEW) -> list[Done]:
    """What ``job`` makes of each item, in their order; fewer than ``few``, and those of a job, are done one by one.

    Raises what the first job that fails raises, and StoppedError where the work was stopped; what was not begun is let be.
    """
    go_on()
    if len(items) < few or current_thread().name.startswith(_NAME):
        return [job(item) for item in items]
    waiting = [_pool().submit(job, item) for item in items]
    done = []
    try:
        for one in waiting:
            done.append(one.result())
            go_on()
    finally:
        for one in waiting:
            one.cancel()
    return done


@cache
def _pool() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(THREADS, thread_name_prefix=_NAME)
