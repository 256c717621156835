"""Files that appear whole or not at all."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that nobody ever finds half of it, whatever happens meanwhile."""
    with whole_file(path) as half_done, half_done.open("wb") as stream:
        stream.write(content)


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
