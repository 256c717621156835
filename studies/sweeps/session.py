"""One run of ``gussetry sweep``, as its user sees it."""

import sys
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from rich.live import Live
from rich.table import Table
from rich.text import Text

from fea.errors import InputError
from geometry.mesher import Setting
from studies.cautions import CAUTIONS
from studies.made_from import note_state, state_of
from studies.runner import Elsewhere
from studies.sweeps.designs import planned
from studies.sweeps.found import Sweep
from studies.sweeps.page import sweep_figure, write_sweep_page
from studies.sweeps.run import swept
from studies.sweeps.table import (
    headings,
    legend,
    reasons,
    sweep_lines,
    sweep_verdicts,
    write_sweep_tables,
)

_PLAIN_WIDTH = 118
_MOST_SHOWN = 40
_MOST_REASONS = 8


def run_sweep(
    path: Path,
    vary: Sequence[str],
    out: Path,
    setting: Setting | None,
    fresh: bool,
    most: int,
    elsewhere: Elsewhere | None = None,
) -> int:
    """Compute, show and write a sweep; 0 when no computation failed, else 1."""
    state, plan = state_of(path), planned(path, vary, setting, most)
    study_folder = out / plan.study.slug
    folder = study_folder / "sweep"
    progress = _Progress(len(plan.designs))
    try:
        with progress:
            sweep = swept(plan, study_folder, progress.heard, progress.ended, fresh, elsewhere)
        folder.mkdir(exist_ok=True)
        write_sweep_tables(sweep, folder)
        page = write_sweep_page(sweep, sweep_figure(sweep, folder), folder)
        note_state(study_folder, folder, state)
    except OSError as error:
        raise InputError(
            f"{folder}: {(error.strerror or 'cannot be written').lower()}",
            "make room or choose another folder with --out; finished designs are kept",
        ) from error
    _show(sweep)
    print(f"\nPage: {page}")
    return 1 if any(not one.refused for one in sweep.left_out) else 0


class _Progress:
    """How many designs are through, the time gone and what is left, and what is being done."""

    def __init__(self, count: int) -> None:
        self.count = count
        self.ends: Counter[str] = Counter()
        self.doing: dict[str, str] = {}
        self.began = time.monotonic()
        console = Console(stderr=True)
        self.live = Live(self, console=console, refresh_per_second=4, transient=True)
        self.on_terminal = console.is_terminal

    def __enter__(self) -> "_Progress":
        if self.on_terminal:
            self.live.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self.on_terminal:
            self.live.stop()

    def heard(self, name: str, what: str) -> None:
        """A worker says what it is doing with a design."""
        self.doing.pop(name, None)
        self.doing[name] = what

    def ended(self, count: int, how: str) -> None:
        """So many designs came to an end."""
        self.ends[how] += count
        if not self.on_terminal and how in ("done", "failed"):
            print(self._line(), file=sys.stderr, flush=True)

    def __rich__(self) -> Table:
        table = Table.grid(padding=(0, 2))
        table.add_row(Text(self._line(), style="bold"))
        for name, what in list(self.doing.items())[-8:]:
            table.add_row(Text(f"· {name}: {what}"))
        return table

    def _line(self) -> str:
        gone = time.monotonic() - self.began
        through = sum(self.ends.values())
        line = f"{through} of {self.count} designs, {gone:.0f} s gone"
        computed = self.ends["done"] + self.ends["failed"]
        if computed and through < self.count:
            line += f", about {gone / computed * (self.count - through):.0f} s left"
        words = {"kept": "kept from before", "refused": "cannot be built", "failed": "failed"}
        said = [f"{self.ends[how]} {text}" for how, text in words.items() if self.ends[how]]
        return line + (f" ({', '.join(said)})" if said else "")


def _show(sweep: Sweep) -> None:
    console = Console(width=None if sys.stdout.isatty() else _PLAIN_WIDTH, highlight=False)
    every = sweep_lines(sweep)
    few = len(every) <= _MOST_SHOWN
    shown = every if few else [line for line in every if line.best]
    title = "All designs" if few else f"Best for their mass, of {len(every)} designs"
    table = Table(title=Text(title), title_justify="left", title_style="bold")
    for heading in headings(sweep):
        table.add_column(Text(heading), overflow="fold")
    for line in shown:
        cells = [line.number, line.layout, *line.values, line.mass, *line.loads]
        table.add_row(*map(Text, cells), style="bold" if few and line.best else "")
    if shown:
        console.print(table)
        console.print(Text(legend()))
    for sentence in sweep_verdicts(sweep):
        console.print(Text(f"• {sentence}"))
    found = reasons(sweep)
    for numbers, reason in found[:_MOST_REASONS]:
        console.print(Text(f"• No result for {numbers}: {reason}"))
    if len(found) > _MOST_REASONS:
        console.print(Text(f"• {len(found) - _MOST_REASONS} more reasons are in sweep.md."))
    console.print()
    for caution in CAUTIONS:
        console.print(Text(f"! {caution}", style="bold"))
