"""Files that appear whole or not at all, and texts that say whether they are as written."""

import hashlib
import os
import re
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that nobody ever finds half of it, whatever happens meanwhile."""
    with whole_file(path) as half_done, half_done.open("wb") as stream:
        stream.write(content)


_SEAL = b"\nsha256 "


def sealed(content: bytes, before: bytes = _SEAL, after: bytes = b"\n") -> bytes:
    """``content`` with a last line that tells any change of it, by whatever hand or disk."""
    return content + before + hashlib.sha256(content).hexdigest().encode() + after


def unsealed(kept: bytes, before: bytes = _SEAL, after: bytes = b"\n") -> bytes | None:
    """What was ``sealed``; None when it is no longer that."""
    content = kept.rpartition(before)[0]
    return content if kept == sealed(content, before, after) else None


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """A path to write to; its content becomes ``path`` when it is complete and on the disk.

    The name is this write's own, so that two runs in one folder do not meet.
    """
    half_done = path.with_name(f"{path.name}.{os.getpid()}-{secrets.token_hex(4)}.part")
    try:
        yield half_done
        with half_done.open("rb+") as stream:
            os.fsync(stream.fileno())
        half_done.replace(path)
        if os.name == "posix":
            # The new name too must survive if the machine dies now.
            folder = os.open(path.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
    finally:
        half_done.unlink(missing_ok=True)


_HALF_DONE = re.compile(r".+\.(\d+)-[0-9a-f]{8}\.part", re.DOTALL)
_OLDEST_WRITE_SECONDS = 600.0


def clear_half_done(folder: Path) -> None:
    """Remove what killed runs left half written.

    What is being written is younger, or its process lives: a clock may have been put forward. Files
    of other programs that end alike stay.
    """
    for path in folder.rglob("*.part"):
        found = _HALF_DONE.fullmatch(path.name)
        with suppress(OSError):
            if found and not _lives(int(found[1])) and _age_s(path) > _OLDEST_WRITE_SECONDS:
                path.unlink()


def _age_s(path: Path) -> float:
    return time.time() - path.stat().st_mtime


def _lives(process: int) -> bool:
    """Whether there is such a process here, as far as can be told: elsewhere none can be asked."""
    if os.name != "posix":
        return False
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except PermissionError:
        return True
    return True
