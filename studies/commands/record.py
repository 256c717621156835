"""``gussetry record``: press tests kept in a book, listed, and set against what was predicted."""

import argparse
from pathlib import Path

from studies.commands.common import add_study
from studies.usage import Command


def _add_options(parser: argparse.ArgumentParser) -> None:
    does = parser.add_subparsers(dest="does", required=True, metavar="COMMAND")
    add = does.add_parser("add", help="write a press test into the book", allow_abbrev=False)
    add_study(add)
    add.add_argument("--layout", help="which layout was pressed (the baseline)")
    add.add_argument("--by", required=True, help="who made the test")
    add.add_argument("--date", help="when, such as 2026-03-31 (today)")
    add.add_argument("--zero", help="what the gauge showed at no load that day")
    add.add_argument(
        "--reading",
        nargs="+",
        action="append",
        default=[],
        metavar="TEXT",
        help='one stop: gauge reading, travel or -, what was seen: "2500 psi" "0.4 mm" "no cracks"',
    )
    add.add_argument("--readings", type=Path, help="a CSV file with one stop a line")
    add.add_argument("--seen-at", help="gauge reading at which yielding was first seen")
    add.add_argument("--no-set-at", help="highest reading from which the height came back")
    add.add_argument("--set-at", help="lowest reading after which the block stayed shorter")
    add.add_argument("--crushed-at", help="reading past which the load rose no further")
    add.add_argument("--note", default="", help="anything else")
    add.add_argument("--photo", action="append", default=[], help="a photo's file name")
    add.add_argument("--out", type=Path, default=Path("out"), help="where predictions are (out)")
    listing = does.add_parser("list", help="list all tests", allow_abbrev=False)
    show = does.add_parser("show", help="show one test", allow_abbrev=False)
    show.add_argument("number", type=int, help="the test's number")
    show.add_argument("--units", choices=("mm", "in"), default="mm", help="mm and kN, or inches")
    show.add_argument("--picture", type=Path, help="draw its points on the predicted curve, as PNG")
    export = does.add_parser("csv", help="write all tests as CSV", allow_abbrev=False)
    export.add_argument("file", type=Path, help="file to write")
    score = does.add_parser("score", help="how well predictions have done", allow_abbrev=False)
    predict = does.add_parser(
        "predict", help="put a prediction beside a test recorded without", allow_abbrev=False
    )
    predict.add_argument("number", type=int, help="the test's number")
    add_study(predict)
    predict.add_argument("--out", type=Path, default=Path("out"), help="where it is kept (out)")
    for one in (add, listing, show, export, score, predict):
        one.add_argument(
            "--book",
            type=Path,
            default=Path("press-tests.sqlite"),
            help="the book of press tests (press-tests.sqlite)",
        )


def _run(options: argparse.Namespace) -> int:
    # Imported here so that wrong arguments and --help answer at once.
    from studies.records import session
    from studies.records.entry import Typed
    from studies.units import OutputUnits

    if options.does == "add":
        typed = Typed(
            tested_by=options.by,
            tested_on=options.date,
            zero=options.zero,
            readings=tuple(tuple(row) for row in options.reading),
            readings_file=options.readings,
            seen_at=options.seen_at,
            no_set_at=options.no_set_at,
            set_at=options.set_at,
            crushed_at=options.crushed_at,
            note=options.note,
            photos=tuple(options.photo),
        )
        return session.add(options.book, options.study, options.layout, options.out, typed)
    if options.does == "list":
        return session.show_list(options.book)
    if options.does == "csv":
        return session.export(options.book, options.file)
    if options.does == "score":
        return session.show_score(options.book)
    if options.does == "predict":
        return session.put_prediction(options.book, options.number, options.study, options.out)
    units = OutputUnits("in", "US ton", "ksi", "lb") if options.units == "in" else OutputUnits()
    return session.show_one(options.book, options.number, units, options.picture)


COMMAND = Command("record", "keep press tests and set them against predictions", _add_options, _run)
