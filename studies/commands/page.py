"""``gussetry page``: describe a block, see it and compute it in the browser."""

import argparse
from pathlib import Path

from studies.usage import Command


def _add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "folder",
        type=Path,
        nargs="?",
        default=Path(),
        metavar="STUDY_FOLDER",
        help="where study files and results lie (this folder)",
    )
    parser.add_argument("--port", type=int, help="to be reached at (a free one)")
    parser.add_argument("--no-browser", action="store_true", help="only print the address")


def _run(options: argparse.Namespace) -> int:
    # Imported here so that wrong arguments and --help answer at once.
    from studies.page.serving import serve

    return serve(options.folder, options.port, not options.no_browser)


COMMAND = Command("page", "open a page in the browser for all of this", _add_options, _run)
