"""One run of ``gussetry compare``, as its user sees it."""

import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, replace
from pathlib import Path

from rich.console import Console
from rich.live import Live
from rich.table import Table
from rich.text import Text

from fea.errors import InputError
from geometry.mesher import Setting
from studies.cautions import CAUTIONS
from studies.compare import compared
from studies.fields import Fields
from studies.loads import with_stiff_seats
from studies.made_from import note_state, state_of
from studies.past_yield import follow
from studies.progress import FINISHED, Step, progress_line, seconds_left
from studies.results import Comparison, LayoutResult
from studies.runner import Elsewhere, Heard
from studies.study import Study, read_study
from studies.tables import HEADINGS, lines, remarks, verdicts

_PLAIN_WIDTH = 118


def run_comparison(
    path: Path,
    out: Path,
    setting: Setting | None,
    fresh: bool,
    pictures: bool,
    seats: str | None = None,
    elsewhere: Elsewhere | None = None,
    accuracy: float | None = None,
    past_yield: bool = False,
) -> int:
    """Compute, show and write a study; 0 when every layout came out, else 1.

    ``past_yield`` follows every load on yielding steel until it shows, too.
    """
    state, study = state_of(path), read_study(path)
    if setting:
        study = replace(study, setting=setting)
    if seats:
        study = replace(study, loads=with_stiff_seats(study.loads, seats == "both"))
    if accuracy:
        study = replace(study, accuracy=accuracy)
    folder = out / study.slug
    try:
        with ThreadPoolExecutor(1) as beside:
            window = beside.submit(_ready_to_draw) if pictures else None
            fields = Fields(folder / "fields")

            def found(row: LayoutResult) -> None:
                if pictures:
                    beside.submit(fields.read_ahead, [case.field_file for case in row.cases])

            comparison = _computed(study, folder, fresh, elsewhere, past_yield, found)
            from studies.outcome import write_outcome

            report, missing = write_outcome(
                comparison,
                study,
                out,
                fields if pictures else None,
                window.result if window else None,
            )
            note_state(folder, folder, state)
    except OSError as error:
        raise InputError(
            f"{folder}: {(error.strerror or 'cannot be written').lower()}",
            "make room or choose another folder with --out; finished layouts are kept",
        ) from error
    _show(comparison, missing)
    print(f"\nReport: {report}")
    return 1 if comparison.failures else 0


def _ready_to_draw() -> str | None:
    """The window system to draw with, and all that drawing takes imported: neither is quick."""
    import studies.outcome  # noqa: F401
    from studies.offscreen import window_system

    return window_system()


class _Progress:
    """What each layout is doing, with the time gone and an estimate of what is left."""

    def __init__(self, study: Study) -> None:
        self.state = {layout.name: "waiting" for layout in study.layouts}
        self.began = time.monotonic()

    def __rich__(self) -> Table:
        table = Table.grid(padding=(0, 2))
        for name, what in self.state.items():
            table.add_row(Text("✓" if what in FINISHED else "·"), Text(name), Text(what))
        gone = time.monotonic() - self.began
        table.add_row("", Text(f"{gone:.0f} s gone{self._left(gone)}", style="bold"), "")
        return table

    def _left(self, gone: float) -> str:
        done = sum(what in ("done", "failed") for what in self.state.values())
        left = sum(what not in FINISHED for what in self.state.values())
        rest = seconds_left(gone, done, left)
        return "" if rest is None else f", about {rest:.0f} s left"


def _computed(
    study: Study,
    folder: Path,
    fresh: bool,
    elsewhere: Elsewhere | None,
    past_yield: bool,
    found: Callable[[LayoutResult], None],
) -> Comparison:
    console = Console(stderr=True)
    progress = _Progress(study)
    if not console.is_terminal:

        def heard(name: str, what: str) -> None:
            step = Step(time.monotonic() - progress.began, name, what)
            print(f"{progress_line(step)}\n", end="", file=sys.stderr, flush=True)

        return _followed(study, folder, heard, fresh, elsewhere, past_yield, found)
    with Live(progress, console=console, refresh_per_second=4):

        def noted(name: str, what: str) -> None:
            progress.state[name] = what

        return _followed(study, folder, noted, fresh, elsewhere, past_yield, found)


def _followed(
    study: Study,
    folder: Path,
    heard: Heard,
    fresh: bool,
    elsewhere: Elsewhere | None,
    past_yield: bool,
    found: Callable[[LayoutResult], None],
) -> Comparison:
    """Elastic loads first: a layout that cannot be computed is not followed."""
    elastic = compared(study, folder, heard, fresh, elsewhere, found)
    if not past_yield:
        return elastic
    names = {row.name for row in elastic.results}
    good = tuple(layout for layout in study.layouts if layout.name in names)
    follow(replace(study, layouts=good), folder / "store", heard, fresh)
    return compared(study, folder, heard, False, elsewhere)


def _show(comparison: Comparison, missing: str | None) -> None:
    console = Console(width=None if sys.stdout.isatty() else _PLAIN_WIDTH, highlight=False)
    for load in comparison.loads:
        table = Table(title=Text(load.name), title_justify="left", title_style="bold")
        shown = [key for key in HEADINGS if key not in ("load", "averaging")]
        for key in shown:
            table.add_column(HEADINGS[key], overflow="fold")
        for line in lines(comparison):
            if line.load == load.name:
                cells = asdict(line)
                table.add_row(*(Text(str(cells[key])) for key in shown))
        console.print(table)
    lengths = sorted(
        {
            comparison.units.show_length(case.starts.averaging_mm)
            for row in comparison.results
            for case in row.cases
        }
    )
    if lengths:
        console.print(
            f"First yield is judged from stress averaged over {', '.join(lengths)}. What half "
            "and double that length would do to it stands in the report."
        )
    for sentence in verdicts(comparison) + remarks(comparison):
        console.print(Text(f"• {sentence}"))
    console.print()
    for caution in CAUTIONS:
        console.print(Text(f"! {caution}", style="bold"))
    if missing:
        console.print(Text(f"Note: {missing}"))
