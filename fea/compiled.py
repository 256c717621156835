"""The one place where a function is handed to the compiler.

Compiled code is kept beside the source, or in the user's cache folder where the source is
read-only, so only the first run on a machine waits for it.
"""

from collections.abc import Callable
from typing import ParamSpec, TypeVar

import numba

P = ParamSpec("P")
R = TypeVar("R")

_LOOSE = {"contract", "reassoc"}


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a numeric kernel; ``numba.prange`` loops in it use all threads allowed.

    Every kernel gives the same bits on one thread and on many: a row or a chunk is always summed
    by one thread, in one order.
    """
    result: Callable[P, R] = numba.njit(parallel=True, cache=True, fastmath=_LOOSE)(function)
    return result


def inlined(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a small function that kernels call."""
    result: Callable[P, R] = numba.njit(fastmath=_LOOSE, inline="always")(function)
    return result
