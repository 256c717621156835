"""``gussetry press``: what the shop's gauge will read, where to stop, and the sheet to print."""

import argparse
from pathlib import Path

from studies.commands.common import add_run_options, add_study
from studies.usage import Command


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_study(parser)
    parser.add_argument(
        "--layout",
        action="append",
        default=[],
        help="which layout goes into the press (the baseline); may be given several times",
    )
    parser.add_argument(
        "--all", action="store_true", help="every layout, at once on all the machine's cores"
    )
    add_run_options(parser)
    parser.add_argument(
        "--curve", action="store_true", help="crush it through its plateau too: takes minutes"
    )
    parser.add_argument("--paper", choices=("A4", "Letter"), help="to print on (by the units)")
    parser.add_argument(
        "--yield-from-test",
        type=int,
        metavar="NUMBER",
        help="take the yield strength fitted to this test of the book",
    )
    parser.add_argument(
        "--book",
        type=Path,
        default=Path("press-tests.sqlite"),
        help="the book of press tests (press-tests.sqlite)",
    )


def _run(options: argparse.Namespace) -> int:
    # Imported here so that wrong arguments and --help answer at once.
    from studies.pressing.crush import crush_layout
    from studies.pressing.session import PressRequest, run_press

    return run_press(
        PressRequest(
            options.study,
            tuple(options.layout),
            options.out,
            options.mesh,
            options.fresh,
            options.paper,
            options.book,
            options.yield_from_test,
            options.all,
        ),
        crush_layout if options.curve else None,
    )


COMMAND = Command("press", "predict a press test and print its sheet", _add_options, _run)
