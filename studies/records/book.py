"""The book of press tests: one SQLite file that two people may write to, and that a power cut
leaves as it was before or after a test, never between.

A book that is damaged, of another program or of a newer version is refused and left as it is; a
new one is begun only where there is no file, and never in place of one that has gone astray.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path

from fea.errors import InputError
from studies.records.steps import APPLICATION, STEPS, VERSION

_WAIT_SECONDS = 20.0
_LEFT_BEHIND = ("-journal", "-wal", "-shm")


@contextmanager
def opened(path: Path, begin: bool = False) -> Iterator[sqlite3.Connection]:
    """The book at ``path``, sound and of the present version; closed at the end.

    ``begin`` starts a new one where there is none. Raises InputError when the book cannot be used.
    """
    if not path.exists():
        _begin(path, begin)
    connection = _connected(path)
    try:
        with _told(path):
            connection.execute("PRAGMA foreign_keys = ON")
            connection.execute("PRAGMA synchronous = EXTRA")
            _check(path, connection)
            _bring_up_to_date(path, connection)
            if _columns(connection) != _columns_wanted():
                raise _damaged(path, "its tables are not as they were laid out")
        yield connection
    finally:
        connection.close()


@contextmanager
def reading(path: Path, connection: sqlite3.Connection) -> Iterator[None]:
    """What is read inside is of one moment, whatever others write meanwhile."""
    with _told(path):
        connection.execute("BEGIN")
        try:
            yield
        finally:
            connection.execute("ROLLBACK")


@contextmanager
def writing(path: Path, connection: sqlite3.Connection) -> Iterator[None]:
    """All of what is done inside is kept, or nothing; waits for another writer to finish.

    Raises InputError when the other one does not, or when the disk fails.
    """
    with _told(path):
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            connection.execute("COMMIT")
        except BaseException:
            with suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
            raise


def _begin(path: Path, begin: bool) -> None:
    for ending in _LEFT_BEHIND:
        if path.with_name(path.name + ending).exists():
            raise InputError(
                f"{path}: is gone, but {path.name}{ending} is still beside it, so no new book "
                "is begun",
                "bring the book back from your copy, or give another place with --book",
            )
    if not begin:
        raise InputError(
            f"{path}: there is no book of press tests", "record one with: gussetry record add"
        )
    half_done = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        half_done.unlink(missing_ok=True)
        _write_empty(half_done)
        _put_in_place(half_done, path)
    except (OSError, sqlite3.Error) as error:
        raise InputError(
            f"{path}: cannot be begun ({_reason(error)})",
            "make room, or choose another place with --book",
        ) from error
    finally:
        # On a disk that takes nothing there is nothing to remove, and the disk says so again.
        with suppress(OSError):
            half_done.unlink(missing_ok=True)


def _reason(error: OSError | sqlite3.Error) -> str:
    return (getattr(error, "strerror", None) or str(error)).lower()


def _write_empty(path: Path) -> None:
    """A whole, empty book of the present version."""
    connection = sqlite3.connect(path, isolation_level=None)
    try:
        connection.execute("PRAGMA synchronous = EXTRA")
        connection.execute("BEGIN IMMEDIATE")
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        _stepped(connection, 0)
        connection.execute("COMMIT")
    finally:
        connection.close()


def _put_in_place(half_done: Path, path: Path) -> None:
    """Give the new book its name unless somebody else has begun one meanwhile."""
    with suppress(FileExistsError):
        try:
            os.link(half_done, path)
        except FileExistsError:
            raise
        except OSError:  # a disk that knows no second name for a file, such as a memory stick
            with path.open("xb") as stream:
                stream.write(half_done.read_bytes())
                stream.flush()
                os.fsync(stream.fileno())


def _connected(path: Path) -> sqlite3.Connection:
    if not path.is_file():
        raise InputError(f"{path}: is not a file", "give the book's own file with --book")
    try:
        # mode=rw: never makes a file. isolation_level=None: we say ourselves when to begin.
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode=rw",
            uri=True,
            timeout=_WAIT_SECONDS,
            isolation_level=None,
        )
    except sqlite3.Error as error:
        raise InputError(f"{path}: cannot be opened ({error})", "check its rights") from error
    return connection


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Turn what SQLite finds wrong into one line each."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        said = str(error)
        if "locked" in said:
            raise InputError(
                f"{path}: somebody else is writing to it", "wait a little and try again"
            ) from error
        if "readonly" in said:
            raise InputError(
                f"{path}: may not be written to", "change its rights, or copy it elsewhere"
            ) from error
        if isinstance(error, sqlite3.IntegrityError):
            raise InputError(
                f"{path}: the book does not take this ({said})", "check what was typed"
            ) from error
        if "full" in said:
            raise InputError(f"{path}: {said}", "make room on the disk and try again") from error
        raise _damaged(path, said) from error
    except UnicodeError as error:  # what SQLite quotes from a damaged page need not be text
        raise _damaged(path, "letters that are none") from error


def _damaged(path: Path, said: str) -> InputError:
    return InputError(
        f"{path}: the book is damaged ({said}) and is kept as it is",
        "bring back a copy of it, or begin another with --book",
    )


def _check(path: Path, connection: sqlite3.Connection) -> None:
    if path.stat().st_size == 0:
        raise _damaged(path, "nothing in it")
    application = int(connection.execute("PRAGMA application_id").fetchone()[0])
    version = _version(connection)
    if application != APPLICATION:
        raise InputError(
            f"{path}: is another program's database", "give the book's own file with --book"
        )
    if version > VERSION:
        raise InputError(
            f"{path}: is of version {version}, newer than this gussetry knows ({VERSION})",
            "bring gussetry up to date",
        )
    if version < 1:
        raise _damaged(path, "no version")
    found = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if found != "ok":
        raise _damaged(path, " ".join(str(found).split()))
    if connection.execute("PRAGMA foreign_key_check").fetchone() is not None:
        raise _damaged(path, "readings without their test")


def _columns(connection: sqlite3.Connection) -> dict[str, list[tuple[str, str]]]:
    """Names and kinds of every table's columns."""
    tables = connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'").fetchall()
    return {
        name: connection.execute("SELECT name, type FROM pragma_table_info(?)", (name,)).fetchall()
        for (name,) in tables
    }


@cache
def _columns_wanted() -> dict[str, list[tuple[str, str]]]:
    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        _stepped(connection, 0)
        return _columns(connection)
    finally:
        connection.close()


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _bring_up_to_date(path: Path, connection: sqlite3.Connection) -> None:
    if _version(connection) == VERSION:
        return
    with writing(path, connection):
        # Asked again inside: somebody else may have done it while we waited.
        _stepped(connection, _version(connection))


def _stepped(connection: sqlite3.Connection, version: int) -> None:
    """Take a book through the steps it lacks, inside the transaction that is open."""
    for step in STEPS[version:]:
        # executescript would end the transaction, so each statement goes by itself.
        for statement in step.split(";"):
            if statement.strip():
                connection.execute(statement)
    connection.execute(f"PRAGMA user_version = {VERSION}")
