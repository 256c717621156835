"""``gussetry shelf``: how many blocks of each layout the stock on hand yields."""

import argparse
from pathlib import Path

from fea.errors import InputError
from studies.commands.common import add_study
from studies.usage import Command


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_study(parser)
    parser.add_argument("--out", type=Path, default=Path("out"), help="where papers go (out)")


def _run(options: argparse.Namespace) -> int:
    # Imported here so that wrong arguments and --help answer at once.
    from studies.shop.shelf_paper import blocks_words as blocks
    from studies.shop.shelf_paper import sentences, shelved, unused, write_shelf
    from studies.study import read_study

    study = read_study(options.study)
    folder = options.out / study.slug
    every = shelved(study, folder)
    try:
        path = write_shelf(study, every, folder / "papers")
    except OSError as error:
        raise InputError(
            f"{folder}: {(error.strerror or 'cannot be written').lower()}",
            "make room or choose another folder with --out",
        ) from error
    for one in every:
        print(f"{one.layout.name}: {blocks(one.found)}")
    for sentence in (*sentences(every), *unused(study)):
        print(f"• {sentence}")
    print(f"\nShelf: {path}")
    return 0


COMMAND = Command("shelf", "say how many blocks the stock on hand yields", _add_options, _run)
