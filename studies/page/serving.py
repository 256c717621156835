"""The page's server on this machine, from its start until Ctrl-C.

It runs in a process of its own behind a socket that this one holds: should it crash, another takes
its place at the same address, finds every run again, and the page goes on.
"""

import multiprocessing
import signal
import socket
import sys
import threading
import time
import webbrowser
from contextlib import suppress
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import TYPE_CHECKING

from fea.errors import InputError

if TYPE_CHECKING:
    import uvicorn

_FIRST_PORT = 8421
_PORTS_TRIED = 20
_CRASHES_BORNE = 5
_WITHIN_SECONDS = 60.0
_SPAWN = multiprocessing.get_context("spawn")


def serve(folder: Path, port: int | None, browser: bool) -> int:
    """Serve ``folder`` on the loopback alone; 0 when it was ended, 1 when it crashes on and on.

    Raises InputError for a folder or a port that will not do.
    """
    listener = _listener(port)
    address = f"http://127.0.0.1:{listener.getsockname()[1]}"
    # Whoever ends this process with a signal means the server.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    crashes: list[float] = []
    while True:
        server = _started(folder, listener)
        if not crashes:
            print(
                f"Gussetry's page: {address}\nEnd it with Ctrl-C; runs under way go on.", flush=True
            )
            if browser:
                threading.Thread(target=webbrowser.open, args=[address], daemon=True).start()
        if _ended(server):
            return 0
        now = time.monotonic()
        crashes = [*(one for one in crashes if now - one < _WITHIN_SECONDS), now]
        if len(crashes) > _CRASHES_BORNE:
            print(
                "gussetry: the page's server crashes on and on; say what you did", file=sys.stderr
            )
            return 1
        print(
            f"gussetry: the page's server crashed (exit code {server.exitcode}) and starts again; "
            "nothing saved is lost",
            file=sys.stderr,
            flush=True,
        )


def _started(folder: Path, listener: socket.socket) -> BaseProcess:
    """A server's process once it is ready; raises InputError for a folder that will not do."""
    heard, tell = _SPAWN.Pipe(duplex=False)
    server = _SPAWN.Process(target=_answer, args=(folder, listener, tell))
    server.start()
    tell.close()
    with suppress(EOFError):
        if refused := heard.recv():
            server.join()
            raise InputError(*refused)
    return server


def _ended(server: BaseProcess) -> bool:
    """Wait for the server's end: True when it was asked for, False when it crashed."""
    try:
        server.join()
    except KeyboardInterrupt:
        server.terminate()
        server.join()
        return True
    return server.exitcode == 0


def _answer(folder: Path, listener: socket.socket, tell: Connection) -> None:
    """Be the server, until told to end or until whoever started it is gone."""
    # Imported here: all that answering takes is brought in once, not in both processes.
    import uvicorn

    from studies.page.server import page_app

    try:
        app = page_app(folder)
    except InputError as error:
        tell.send((error.problem, error.remedy))
        return
    tell.send(None)
    tell.close()
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False, ws="none"))
    threading.Thread(target=_end_with_parent, args=[server], daemon=True).start()
    with suppress(KeyboardInterrupt):
        server.run(sockets=[listener])


def _end_with_parent(server: "uvicorn.Server") -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        server.should_exit = True


def _listener(port: int | None) -> socket.socket:
    """A listening socket on the loopback, at ``port`` or the first free one of ours."""
    tried = [port] if port is not None else range(_FIRST_PORT, _FIRST_PORT + _PORTS_TRIED)
    for one in tried:
        listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind(("127.0.0.1", one))
            # Whoever comes before the server has started waits for it.
            listener.listen()
        except (OSError, OverflowError):
            listener.close()
            continue
        return listener
    raise InputError(
        f"page: --port {port} cannot be used" if port is not None else "page: no port is free",
        "give another with --port, 1024 to 65535",
    )
