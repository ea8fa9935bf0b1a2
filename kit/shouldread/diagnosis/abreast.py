"""The same job for many, on two processors: compiled kernels run without the interpreter's lock."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import TypeVar

from shouldread.diagnosis.stopping import go_on

Item = TypeVar("Item")
Done = TypeVar("Done")

THREADS = 2
FEW = 8  # jobs that are not worth a second thread


def abreast(job: Callable[[Item], Done], items: Sequence[Item]) -> list[Done]:
    """What ``job`` makes of each item, in their order.

    Raises what the first job that fails raises, and StoppedError where the work was stopped; what was not begun is let be.
    """
    go_on()
    if len(items) < FEW:
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
    return ThreadPoolExecutor(THREADS, thread_name_prefix="faults")
