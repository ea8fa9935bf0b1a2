"""The decorator of every compiled kernel, with a cache that cannot go stale.

numba keys its cache by one file's time stamp, so a kernel that calls a law of another file keeps the old law after
an edit there (measured). Here the cache lies in a folder named by the digest of all kernel sources and of numba.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import numba.core.config
from platformdirs import user_cache_path

_PACKAGE = Path(__file__).resolve().parents[2]
_KERNELS = ("parts/laws/*.py", "solve/*.py", "diagnosis/*_kernels.py")


def digest() -> str:
    """Changes whenever any kernel's source, or numba, does."""
    total = hashlib.sha256(numba.__version__.encode())
    for pattern in _KERNELS:
        for path in sorted(_PACKAGE.glob(pattern)):
            total.update(path.read_bytes())
    return total.hexdigest()[:16]


def _folder() -> Path | None:
    """The cache folder, its owner's alone; None where nothing can be written."""
    folder = user_cache_path("shouldread") / "kernels" / digest()
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        with tempfile.TemporaryFile(dir=folder):
            pass
        if os.name == "posix" and folder.stat().st_uid != os.geteuid():
            return None  # cache files are pickles: never read somebody else's
    except OSError:
        return None
    return folder


CACHE = _folder()
config: Any = numba.core.config


def kernel(function: Callable[..., Any]) -> Any:
    """Compile on first use, without the interpreter's lock; kept on disk where that is possible."""
    if CACHE is None:
        return numba.njit(error_model="numpy", nogil=True)(function)
    before = config.CACHE_DIR
    config.CACHE_DIR = str(CACHE)
    try:
        return numba.njit(cache=True, error_model="numpy", nogil=True)(function)
    finally:
        config.CACHE_DIR = before


def inlined(function: Callable[..., Any]) -> Any:
    """A piece of one kernel, compiled in its place: what is called from one line only need not be compiled twice."""
    return numba.njit(inline="always", error_model="numpy", nogil=True)(function)
