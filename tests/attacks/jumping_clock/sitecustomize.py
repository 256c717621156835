"""Makes the clock of every Python process that finds this first jump years ahead and back."""

import itertools
import time

_YEAR_SECONDS = 3.2e7
_JUMPS = itertools.cycle((0.0, _YEAR_SECONDS, -_YEAR_SECONDS, 700.0, -700.0))
_true = time.time


def _jumping() -> float:
    return _true() + next(_JUMPS)


time.time = _jumping
