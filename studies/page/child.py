"""One run in a process of its own: it goes on when the page is closed or its server ends.

All it says to others stands in files beside its request, so that any server finds it again.
"""

import os
import signal
import sys
import threading
import time
from pathlib import Path

from fea.errors import InputError
from studies.page.orders import is_ours
from studies.page.runs import RunFiles

_LOOK_SECONDS = 0.3
_GRACE_SECONDS = 10.0


def main() -> None:
    """Run the request named on the command line to its end."""
    files = RunFiles(Path(sys.argv[1]), sys.argv[2])
    files.say_begun()
    # A server begun in the background by a shell hands down that interrupts are to be ignored.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    over = threading.Event()
    threading.Thread(target=_watch, args=(files, over), daemon=True).start()
    code = 1
    try:
        # Imported here so that whoever waits soon sees that the run has begun.
        from studies.command import main as gussetry

        asked = files.request()
        if not is_ours(asked.kind, asked.study, asked.order.arguments):
            raise InputError("this run was not asked for on a page", "ask for it again")
        code = gussetry(asked.order.arguments)
    except KeyboardInterrupt:
        code = 130
    except InputError as error:
        print(f"gussetry: {error}", file=sys.stderr)
    except OSError as error:
        print(f"gussetry: {error.strerror or error}; make room and run again", file=sys.stderr)
    finally:
        over.set()
        files.say_ended(code)
        files.let_go()


def _watch(files: RunFiles, over: threading.Event) -> None:
    """Show that this process lives, and end it when asked to."""
    asked = None
    while not over.wait(_LOOK_SECONDS):
        files.say_alive()
        if asked is None and files.stop_asked():
            asked = time.monotonic()
            _interrupt(signal.SIGINT)
        elif asked is not None and time.monotonic() - asked > _GRACE_SECONDS:
            files.say_ended(130)
            _interrupt(signal.SIGTERM)
            os._exit(130)


def _interrupt(by: signal.Signals) -> None:
    """Signal this process and its workers, who are the only ones in its session."""
    if os.name == "posix" and os.getpgrp() == os.getpid():
        os.killpg(os.getpgrp(), by)
    else:
        signal.raise_signal(by)


if __name__ == "__main__":
    main()
