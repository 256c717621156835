"""How processes of this machine are started: ready-made where the system can copy one.

A server that has imported what layouts take is copied for each of them; it imports while the
program itself still does. Where there is no such server, each process imports for itself.
"""

import multiprocessing
from multiprocessing.context import BaseContext

_SERVER = "forkserver"
_NEEDED = ("studies.runner",)


def context() -> BaseContext:
    """The way to start processes here."""
    has_server = _SERVER in multiprocessing.get_all_start_methods()
    return multiprocessing.get_context(_SERVER if has_server else "spawn")


def make_ready() -> None:
    """Begin to import what processes will need."""
    if _SERVER in multiprocessing.get_all_start_methods():
        # Not there at all on some systems.
        from multiprocessing import forkserver

        context().set_forkserver_preload(list(_NEEDED))
        forkserver.ensure_running()
