"""Whether the process that holds a file still lives: the system tells, whatever the clock says."""

import sys
from pathlib import Path
from typing import BinaryIO

if sys.platform != "win32":
    import fcntl


def hold(path: Path) -> BinaryIO | None:
    """Hold a file until it is closed or this process ends; None where files cannot be held."""
    if sys.platform == "win32":
        return None
    stream = path.open("ab")
    try:
        fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        stream.close()
        return None
    return stream


def is_held(path: Path) -> bool | None:
    """Whether somebody holds the file; None where that cannot be told."""
    if sys.platform == "win32":
        return None
    try:
        with path.open("rb") as stream:
            fcntl.flock(stream, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    except OSError:
        return None
    return False
