"""``gussetry verify``: published values against our own, on this machine."""

import argparse
from pathlib import Path

from studies.usage import Command


def _add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", type=Path, help="also keep the findings in this folder")


def _run(options: argparse.Namespace) -> int:
    # Imported here so that wrong arguments and --help answer at once.
    from studies.verify_session import run_verification

    return run_verification(options.out)


COMMAND = Command(
    "verify", "check this machine's answers against published values", _add_options, _run
)
