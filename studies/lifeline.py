"""What a worker process does first: it is not to outlive its parent.

A module of its own, for a process that imports no more than this is there at once.
"""

import multiprocessing
import multiprocessing.connection
import os
import signal
import threading


def not_outliving_its_parent() -> None:
    """End this process at once on Ctrl-C, of which its parent tells, and when its parent dies."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    if "fork" in multiprocessing.get_all_start_methods():
        # For numba's lock, which is made the usual way: so, none outlives a process that is killed.
        multiprocessing.set_start_method("fork", force=True)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    multiprocessing.connection.wait([sentinel])
    os._exit(1)
