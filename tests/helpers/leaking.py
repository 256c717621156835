"""Work on a layout that never gives its memory back."""

import os
import resource
from typing import Any

_KEPT: list[bytes] = []


def leaking(_: Any) -> tuple[int, int, int]:
    """The process it ran in, how many it has done there, and that process's most kB so far."""
    _KEPT.append(os.urandom(40_000_000))
    return os.getpid(), len(_KEPT), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
