"""``gussetry sweep``: the layouts of a study with some of its quantities varied."""

import argparse

from studies.commands.common import add_dask, add_run_options, add_study, elsewhere
from studies.usage import Command

MOST_DESIGNS = 1000


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_study(parser)
    parser.add_argument(
        "--vary",
        action="append",
        default=[],
        metavar='"KEY = VALUES"',
        help='such as "tube.wall = 5, 6, 8 mm" or "rib_thickness = 4 to 10 by 2 mm"; may be '
        "given several times, beside what the file's [sweep] says",
    )
    parser.add_argument(
        "--most",
        type=int,
        default=MOST_DESIGNS,
        metavar="COUNT",
        help=f"refuse to compute more designs ({MOST_DESIGNS})",
    )
    add_run_options(parser)
    add_dask(parser)


def _run(options: argparse.Namespace) -> int:
    # Imported here so that wrong arguments and --help answer at once.
    from studies.processes import make_ready

    make_ready()
    from studies.sweeps.session import run_sweep

    with elsewhere(options) as found:
        return run_sweep(
            options.study,
            options.vary,
            options.out,
            options.mesh,
            options.fresh,
            options.most,
            found,
        )


COMMAND = Command("sweep", "compute the layouts with quantities varied", _add_options, _run)
