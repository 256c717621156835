"""``gussetry figures``: product pictures of a layout."""

import argparse
from pathlib import Path

from studies.commands.common import add_run_options, add_study
from studies.usage import Command

_PIXELS = (300, 6000)


def _pixels(text: str) -> int:
    least, most = _PIXELS
    if not text.isascii() or not text.isdigit() or not least <= int(text) <= most:
        raise argparse.ArgumentTypeError(
            f"{text:.20} is no width for a picture; give {least} to {most} pixels, such as 3000"
        )
    return int(text)


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_study(parser)
    parser.add_argument("--layout", metavar="NAME", help="which layout is shown (the baseline)")
    parser.add_argument(
        "--colour", default="blue", metavar="PAINT", help="paint, such as black or '#1f4e79' (blue)"
    )
    parser.add_argument(
        "--ground", choices=("white", "transparent"), default="white", help="(white)"
    )
    parser.add_argument(
        "--pixels", type=_pixels, default=3000, metavar="WIDTH", help="how wide (3000)"
    )
    add_run_options(parser)
    parser.add_argument(
        "--book", type=Path, help="the book of press tests (press-tests.sqlite, if it is there)"
    )


def _run(options: argparse.Namespace) -> int:
    # Imported here so that wrong arguments and --help answer at once.
    from studies.figures.session import FiguresRequest, run_figures

    return run_figures(
        FiguresRequest(
            options.study,
            options.layout,
            options.out,
            options.mesh,
            options.fresh,
            options.colour,
            options.ground,
            options.pixels,
            options.book,
        )
    )


COMMAND = Command("figures", "draw product pictures of a layout", _add_options, _run)
