"""One run of ``gussetry verify``, as its user sees it."""

import sys
from contextlib import nullcontext
from pathlib import Path

from rich.console import Console
from rich.progress import Progress
from rich.table import Table
from rich.text import Text

from fea.errors import InputError
from studies.published.catalogue import catalogue
from studies.published.check import PublishedCheck
from studies.store import write_whole
from studies.verify import Outcome, Verification, keep_verification, verified
from studies.verify_table import HEADINGS, check_lines, csv_text, markdown_text, summary
from studies.visible_yield import HEADINGS as VISIBLE_HEADINGS
from studies.visible_yield import TITLE, kept_study
from studies.visible_yield import summary as visible_summary
from studies.visible_yield import table as visible_table

_PLAIN_WIDTH = 140


def run_verification(
    out: Path | None, checks: tuple[tuple[str, PublishedCheck], ...] | None = None
) -> int:
    """Run the published checks and show them; 0 when all passed, else 1.

    Writes verification.csv, .json and .md into ``out`` if one is given. Raises InputError when
    that is not possible.
    """
    verification = _watched(catalogue() if checks is None else checks)
    _show(verification)
    _show_visible()
    if out is not None:
        try:
            keep_verification(out, verification)
            write_whole(out / "verification.csv", csv_text(verification).encode("utf-8-sig"))
            write_whole(out / "verification.md", markdown_text(verification).encode())
        except OSError as error:
            raise InputError(
                f"{out}: {(error.strerror or 'cannot be written').lower()}",
                "choose another folder with --out",
            ) from error
        print(f"\nKept in {out}; reports written there show it from now on.")
    return 1 if verification.failures else 0


def _watched(checks: tuple[tuple[str, PublishedCheck], ...]) -> Verification:
    console = Console(stderr=True)
    progress = Progress(console=console, transient=True) if console.is_terminal else None
    with progress or nullcontext():
        task = progress.add_task("Checking", total=len(checks)) if progress else None

        def heard(outcome: Outcome) -> None:
            if progress and task is not None:
                progress.update(task, advance=1, description=outcome.topic)
            else:
                state = "passed" if outcome.passed else "FAILED"
                print(
                    f"{outcome.seconds:6.1f} s  {outcome.case}: {state}",
                    file=sys.stderr,
                    flush=True,
                )

        return verified(checks, heard)


def _show(verification: Verification) -> None:
    console = Console(width=None if sys.stdout.isatty() else _PLAIN_WIDTH, highlight=False)
    table = Table()
    for key, heading in HEADINGS.items():
        table.add_column(heading, overflow="fold", justify="right" if key in _NUMBERS else "left")
    topic = ""
    for line in check_lines(verification):
        if line.topic != topic:
            topic = line.topic
            table.add_section()
            table.add_row(Text(topic, style="bold"))
        style = "" if line.passed else "bold red"
        table.add_row(*(Text(getattr(line, key), style=style) for key in HEADINGS))
    console.print(table)
    console.print(Text(summary(verification), style="bold"))
    if verification.failures:
        console.print(
            "Trust no load from this machine until all pass: install the program afresh as its "
            "README says; if that does not help, tell its makers what failed."
        )


def _show_visible() -> None:
    """How the estimates stand beside loads computed on yielding steel, as kept."""
    console = Console(width=None if sys.stdout.isatty() else _PLAIN_WIDTH, highlight=False)
    study = kept_study()
    if not study.runs:
        return
    shown = Table(title=Text(TITLE), title_justify="left")
    for place, heading in enumerate(VISIBLE_HEADINGS):
        shown.add_column(heading, overflow="fold", justify="right" if place > 1 else "left")
    for row in visible_table(study):
        shown.add_row(*map(Text, row))
    console.print(shown)
    console.print(Text(visible_summary(study)))


_NUMBERS = ("published", "ours", "difference", "allowed")
