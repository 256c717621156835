"""The page's server on this machine, from its start until Ctrl-C."""

import socket
import threading
import webbrowser
from pathlib import Path

import uvicorn

from fea.errors import InputError
from studies.page.server import page_app

_FIRST_PORT = 8421
_PORTS_TRIED = 20


def serve(folder: Path, port: int | None, browser: bool) -> int:
    """Serve ``folder`` on the loopback alone; 0 when it was ended.

    Raises InputError for a folder or a port that will not do.
    """
    app = page_app(folder)
    listener = _listener(port)
    address = f"http://127.0.0.1:{listener.getsockname()[1]}"
    print(f"Gussetry's page: {address}\nEnd it with Ctrl-C; runs under way go on.", flush=True)
    if browser:
        threading.Thread(target=webbrowser.open, args=[address], daemon=True).start()
    config = uvicorn.Config(app, log_level="warning", access_log=False, ws="none")
    uvicorn.Server(config).run(sockets=[listener])
    return 0


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
