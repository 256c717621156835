"""Options that several subcommands share."""

import argparse
from pathlib import Path


def add_study(parser: argparse.ArgumentParser) -> None:
    """The study file to read."""
    parser.add_argument("study", type=Path, metavar="STUDY.toml", help="study file to read")


def add_run_options(parser: argparse.ArgumentParser) -> None:
    """Where results go, how fine the mesh is, and whether kept results count."""
    parser.add_argument("--out", type=Path, default=Path("out"), help="where results go (out)")
    parser.add_argument("--mesh", choices=("quick", "normal", "fine"), help="instead of the file's")
    parser.add_argument("--fresh", action="store_true", help="compute all again, keep nothing")
