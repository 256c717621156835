"""``gussetry compare``: all layouts of a study side by side."""

import argparse

from studies.commands.common import add_dask, add_run_options, add_study, elsewhere
from studies.usage import Command


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_study(parser)
    add_run_options(parser)
    parser.add_argument(
        "--seats", choices=("soft", "both"), help="instead of the file's; both is slower"
    )
    parser.add_argument(
        "--accuracy",
        metavar="PERCENT",
        help='refine the mesh until first yield is known so closely, such as "3 %%"',
    )
    parser.add_argument(
        "--past-yield",
        action="store_true",
        help="follow every load past first yield until it shows: takes minutes a layout",
    )
    add_dask(parser)
    parser.add_argument("--no-pictures", action="store_true", help="numbers only")


def _run(options: argparse.Namespace) -> int:
    # Imported here so that wrong arguments and --help answer at once.
    from studies.processes import make_ready

    make_ready()
    from studies.bands import accuracy_share
    from studies.session import run_comparison

    with elsewhere(options) as found:
        return run_comparison(
            options.study,
            options.out,
            options.mesh,
            options.fresh,
            not options.no_pictures,
            options.seats,
            found,
            accuracy_share(options.accuracy) if options.accuracy else None,
            options.past_yield,
        )


COMMAND = Command("compare", "compute all layouts of a study", _add_options, _run)
