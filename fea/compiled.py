"""The one place where a function is handed to the compiler.

Compiled code is kept beside the source, or in the user's cache folder where the source is
read-only, so only the first run on a machine waits for it. Where neither can be written to, every
run waits.
"""

from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

import numba

P = ParamSpec("P")
R = TypeVar("R")

_LOOSE = {"contract", "reassoc"}


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a numeric kernel; ``numba.prange`` loops in it use all threads allowed.

    Every kernel gives the same bits on one thread and on many: a row or a chunk is always summed
    by one thread, in one order.
    """
    return _kept(function, parallel=True, fastmath=_LOOSE)


def sequential(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a function that goes step by step on one thread."""
    return _kept(function)


def _kept(function: Callable[P, R], **how: Any) -> Callable[P, R]:
    try:
        kept: Callable[P, R] = numba.njit(cache=True, **how)(function)
    except RuntimeError:  # "no locator": there is nowhere to keep it
        made: Callable[P, R] = numba.njit(**how)(function)
        return made
    return kept


def inlined(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a small function that kernels call."""
    result: Callable[P, R] = numba.njit(fastmath=_LOOSE, inline="always")(function)
    return result
