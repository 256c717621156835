"""``gussetry papers``: what the shop needs to cut, weld and fit a layout."""

import argparse
from pathlib import Path

from fea.errors import InputError
from studies.commands.common import add_study
from studies.usage import Command


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_study(parser)
    parser.add_argument("--layout", metavar="NAME", help="just this layout (all of them)")
    parser.add_argument("--out", type=Path, default=Path("out"), help="where papers go (out)")


def _run(options: argparse.Namespace) -> int:
    # Imported here so that wrong arguments and --help answer at once.
    from studies.made_from import note_state, state_of
    from studies.shop.papers import layout_named, write_papers
    from studies.study import read_study, slug

    state, study = state_of(options.study), read_study(options.study)
    chosen = (layout_named(study, options.layout),) if options.layout else study.layouts
    for layout in chosen:
        number = study.layouts.index(layout) + 1
        folder = options.out / study.slug / "papers" / f"{number:02d}-{slug(layout.name)}"
        try:
            write_papers(study, layout, folder)
            note_state(options.out / study.slug, folder, state)
        except OSError as error:
            raise InputError(
                f"{folder}: {(error.strerror or 'cannot be written').lower()}",
                "make room or choose another folder with --out",
            ) from error
        print(f"{layout.name}: {folder / 'papers.pdf'}")
    return 0


COMMAND = Command("papers", "write cut lists, drawings and weld schedules", _add_options, _run)
