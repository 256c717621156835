"""One run of ``gussetry press``, as its user sees it."""

import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from fea.errors import InputError
from geometry.block import Layout
from geometry.mesher import Setting
from studies.made_from import note_state, state_of
from studies.paper import PaperSize, paper_for
from studies.pressing.cautions import press_cautions
from studies.pressing.choice import chosen_layout, prediction_file, press_folder, press_of
from studies.pressing.compute import Crusher, predicted
from studies.pressing.papers import write_papers
from studies.pressing.prediction import block_key, keep_prediction, scaled
from studies.pressing.sheet import PressTestPaper, basis, hold_table
from studies.progress import Step, progress_line
from studies.records.fit import NoFit, yield_fit
from studies.records.rows import one_test
from studies.study import read_study

_PLAIN_WIDTH = 132


@dataclass(frozen=True)
class PressRequest:
    """What the user asks for: None leaves layout, mesh setting and paper to the study file.

    yield_from_test is the number of the test in ``book`` whose fitted yield is to be taken.
    """

    study: Path
    layout: str | None
    out: Path
    setting: Setting | None
    fresh: bool
    paper: PaperSize | None
    book: Path
    yield_from_test: int | None


def run_press(asked: PressRequest, crusher: Crusher | None = None) -> int:
    """Predict one layout in the shop's press; show it, and write sheet, charts and prediction.

    ``crusher`` computes press curves; without one, only elastic loads are predicted. Returns 0;
    raises InputError for what cannot be, SolveError when the layout cannot be computed.
    """
    state, study = state_of(asked.study), read_study(asked.study)
    study = replace(study, setting=asked.setting) if asked.setting else study
    press = press_of(study, asked.study)
    layout = chosen_layout(study, asked.study, asked.layout)
    if press.nose_mm and crusher is None:
        raise InputError(
            f"{asked.study.name}: press.nose: only a computed press curve knows what a nose does",
            "add --curve, or leave nose out for a platen that covers the top plate",
        )
    fitted = None
    if asked.yield_from_test is not None:
        fitted = _fitted_yield(asked.book, asked.yield_from_test, layout)
    folder = press_folder(asked.out, study, layout)
    try:
        work = asked.out / study.slug
        computed = predicted(study, layout, work, _Heard(), asked.fresh, crusher)
        weakest = computed.prediction
        prediction = weakest if fitted is None else scaled(weakest, *fitted)
        # What is kept is for steel at its weakest: a fitted yield is used only when asked for.
        keep_prediction(prediction_file(asked.out, study, layout), weakest)
        size = asked.paper or paper_for(study.units.length)
        paper = write_papers(study, press, prediction, computed.flakes, folder, size)
        note_state(work, folder, state)
    except OSError as error:
        raise InputError(
            f"{folder}: {(error.strerror or 'cannot be written').lower()}",
            "make room or choose another folder with --out",
        ) from error
    _show(paper)
    limit = press.gauge.to_division(press.gauge.reading(press.limit_n), careful=True)
    most = f"{press.gauge.show(limit)}, {study.units.show_force(press.limit_n)}"
    for caution in press_cautions(most, abs(layout.block.taper_deg)):
        _console().print(Text(f"! {caution}", style="bold"))
    print(f"\nSheet to print: {folder / 'press-test.pdf'}")
    return 0


def _fitted_yield(book: Path, number: int, layout: Layout) -> tuple[float, str]:
    """How strong the steel was in a test, and the words that mark what is computed with it."""
    test = one_test(book, number).test
    if test.block_key != block_key(layout.block):
        raise InputError(
            f"{book}: test {number} was of another block than {layout.name!r} is now",
            "its steel tells nothing of this one; take a test of the same block",
        )
    fit = yield_fit(test)
    if isinstance(fit, NoFit):
        raise InputError(
            f"{book}: test {number} gives no yield strength: {fit.reason}",
            "take another test, or leave --yield-from-test out",
        )
    return fit.times, (
        f"{fit.times:.2f} ± {fit.plus_minus:.2f} times the minimum, as fitted to test {number} of "
        f"{test.tested_on}"
    )


def _show(paper: PressTestPaper) -> None:
    console, units = _console(), paper.units
    table = hold_table(paper.plan.holds, paper, blanks=False)
    shown = Table(title=Text(f"Stops for {paper.prediction.layout}"), title_justify="left")
    for index, heading in enumerate(table.headings):
        right = index in table.numbers
        shown.add_column(heading, overflow="fold", justify="right" if right else "left")
    for row in table.rows:
        shown.add_row(*map(Text, row))
    console.print(shown)
    for why, force_n in paper.plan.beyond:
        console.print(Text(f"• out of this press's reach: {why}, {units.show_force(force_n)}"))
    for sentence in (*paper.plan.warnings, *basis(paper)):
        console.print(Text(f"• {sentence}"))
    if paper.plan.instead:
        console.print(Text("• what to do instead: " + "; or ".join(paper.plan.instead)))


class _Heard:
    """Says on the error stream what is being done."""

    def __init__(self) -> None:
        self.began = time.monotonic()

    def __call__(self, name: str, what: str) -> None:
        step = Step(time.monotonic() - self.began, name, what)
        print(progress_line(step), file=sys.stderr, flush=True)


def _console() -> Console:
    return Console(width=None if sys.stdout.isatty() else _PLAIN_WIDTH, highlight=False)
