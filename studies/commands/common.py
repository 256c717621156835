"""Options that several subcommands share."""

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from studies.runner import Elsewhere


def add_study(parser: argparse.ArgumentParser) -> None:
    """The study file to read."""
    parser.add_argument("study", type=Path, metavar="STUDY.toml", help="study file to read")


def add_run_options(parser: argparse.ArgumentParser) -> None:
    """Where results go, how fine the mesh is, and whether kept results count."""
    parser.add_argument("--out", type=Path, default=Path("out"), help="where results go (out)")
    parser.add_argument("--mesh", choices=("quick", "normal", "fine"), help="instead of the file's")
    parser.add_argument("--fresh", action="store_true", help="compute all again, keep nothing")


def add_dask(parser: argparse.ArgumentParser) -> None:
    """Where to compute, if not on this machine."""
    parser.add_argument("--dask", metavar="ADDRESS", help="compute on the Dask cluster there")


@contextmanager
def elsewhere(options: argparse.Namespace) -> Iterator["Elsewhere | None"]:
    """The cluster asked for, or None for this machine."""
    if options.dask is None:
        yield None
        return
    from studies.cluster import on_cluster

    with on_cluster(options.dask) as found:
        yield found
