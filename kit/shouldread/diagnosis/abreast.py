"""The same job for many, on two processors: compiled kernels run without the interpreter's lock."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import TypeVar

Item = TypeVar("Item")
Done = TypeVar("Done")

THREADS = 2
FEW = 8  # jobs that are not worth a second thread


def abreast(job: Callable[[Item], Done], items: Sequence[Item]) -> list[Done]:
    """What ``job`` makes of each item, in their order. Raises what the first job that fails raises."""
    if len(items) < FEW:
        return [job(item) for item in items]
    return list(_pool().map(job, items))


@cache
def _pool() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(THREADS, thread_name_prefix="faults")
