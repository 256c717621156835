"""The ``gussetry`` command."""

import argparse
import sys
from pathlib import Path

from fea.errors import GussetryError, InputError
from studies.template import study_template


def main(arguments: list[str] | None = None) -> int:
    """Run the command; 0 when all went well, 1 when part of it failed, 2 for wrong input."""
    options = _parser().parse_args(arguments)
    try:
        return int(options.run(options))
    except InputError as error:
        print(f"gussetry: {error}", file=sys.stderr)
        return 2
    except GussetryError as error:
        print(f"gussetry: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("gussetry: stopped; finished layouts are kept, run again to go on", file=sys.stderr)
        return 130


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="gussetry", description="Compare gusset layouts of a spacer block before steel is cut."
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    new = commands.add_parser("new", help="write a commented study file to start from")
    new.add_argument("study", type=Path, metavar="STUDY.toml", help="file to write")
    new.add_argument("--units", choices=("mm", "in"), default="mm", help="sizes in mm or in inches")
    new.set_defaults(run=_new)
    compare = commands.add_parser("compare", help="compute all layouts of a study")
    compare.add_argument("study", type=Path, metavar="STUDY.toml", help="study file to read")
    compare.add_argument("--out", type=Path, default=Path("out"), help="where results go (out)")
    compare.add_argument(
        "--mesh", choices=("quick", "normal", "fine"), help="instead of the file's"
    )
    compare.add_argument("--fresh", action="store_true", help="compute all again, keep nothing")
    compare.add_argument("--no-pictures", action="store_true", help="numbers only")
    compare.set_defaults(run=_compare)
    return parser


def _new(options: argparse.Namespace) -> int:
    path: Path = options.study
    try:
        with path.open("x", encoding="utf-8") as stream:
            stream.write(study_template(options.units))
    except FileExistsError:
        raise InputError(f"{path} is there already", "choose another name") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(f"{path}: {reason.lower()}", "choose another place") from error
    print(f"Wrote {path}. Change it to your block, then run: gussetry compare {path}")
    return 0


def _compare(options: argparse.Namespace) -> int:
    # Imported here so that wrong arguments and --help answer at once.
    from studies.session import run_comparison

    return run_comparison(
        options.study, options.out, options.mesh, options.fresh, not options.no_pictures
    )


if __name__ == "__main__":
    sys.exit(main())
