"""``gussetry new``: a commented study file to start from."""

import argparse
from pathlib import Path

from fea.errors import InputError
from studies.template import study_template
from studies.usage import Command


def _add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("study", type=Path, metavar="STUDY.toml", help="file to write")
    parser.add_argument("--units", choices=("mm", "in"), default="mm", help="sizes in mm or inches")


def _run(options: argparse.Namespace) -> int:
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


COMMAND = Command("new", "write a commented study file to start from", _add_options, _run)
