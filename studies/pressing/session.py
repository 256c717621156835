"""One run of ``gussetry press``, as its user sees it."""

import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from fea.errors import InputError, SolveError
from geometry.block import Layout
from geometry.mesher import Setting
from studies.made_from import note_state, state_of
from studies.paper import PaperSize, paper_for
from studies.pressing.cautions import press_cautions
from studies.pressing.choice import chosen_layout, prediction_file, press_folder, press_of
from studies.pressing.compute import Crusher, predicted
from studies.pressing.gauge import Press
from studies.pressing.papers import write_papers
from studies.pressing.prediction import block_key, keep_prediction, scaled
from studies.pressing.sheet import PressTestPaper, basis, hold_table
from studies.pressing.together import pressed_together
from studies.progress import Step, progress_line
from studies.records.fit import NoFit, yield_fit
from studies.records.rows import one_test
from studies.runner import Heard
from studies.study import Study, read_study

_PLAIN_WIDTH = 132


@dataclass(frozen=True)
class PressRequest:
    """What the user asks for: None leaves mesh setting and paper to the study file.

    layouts are the names of those that go into the press, the baseline alone where none is given;
    every takes all of the study. yield_from_test is the number of the test in ``book`` whose fitted
    yield is to be taken.
    """

    study: Path
    layouts: tuple[str, ...]
    out: Path
    setting: Setting | None
    fresh: bool
    paper: PaperSize | None
    book: Path
    yield_from_test: int | None
    every: bool = False


@dataclass(frozen=True)
class _Run:
    """A request read: what holds for each of its layouts.

    state tells the study file as it was; fitted how strong the steel was in a test, in words too.
    """

    asked: PressRequest
    state: str
    study: Study
    press: Press
    crusher: Crusher | None
    fitted: tuple[float, str] | None
    heard: Heard

    @property
    def work(self) -> Path:
        """Where what is computed is kept."""
        return self.asked.out / self.study.slug


def run_press(asked: PressRequest, crusher: Crusher | None = None) -> int:
    """Predict layouts in the shop's press; show them, and write sheets, charts and predictions.

    ``crusher`` computes press curves; without one, only elastic loads are predicted. Returns 0, or
    1 when one of several layouts could not be computed, which is told; raises InputError for what
    cannot be, SolveError when the only layout cannot be computed.
    """
    state, study = state_of(asked.study), read_study(asked.study)
    study = replace(study, setting=asked.setting) if asked.setting else study
    press = press_of(study, asked.study)
    layouts = _chosen(study, asked)
    if press.nose_mm and crusher is None:
        raise InputError(
            f"{asked.study.name}: press.nose: only a computed press curve knows what a nose does",
            "add --curve, or leave nose out for a platen that covers the top plate",
        )
    fitted = None
    if asked.yield_from_test is not None:
        for layout in layouts:
            fitted = _fitted_yield(asked.book, asked.yield_from_test, layout)
    run = _Run(asked, state, study, press, crusher, fitted, _Heard())
    if len(layouts) == 1:
        _press_one(run, layouts[0], asked.fresh)
        return 0
    failed = _together(run, layouts)
    for layout in layouts:
        if layout.name not in failed:
            try:
                _press_one(run, layout, fresh=False)
            except SolveError as error:
                failed[layout.name] = str(error)
    for name, reason in failed.items():
        print(f"gussetry: {name} could not be computed: {reason}", file=sys.stderr)
    return 1 if failed else 0


def _chosen(study: Study, asked: PressRequest) -> tuple[Layout, ...]:
    """The layouts asked for, each once, in the order of the study."""
    if asked.every:
        return study.layouts
    names = asked.layouts or (None,)
    wanted = [chosen_layout(study, asked.study, name).name for name in names]
    return tuple(layout for layout in study.layouts if layout.name in wanted)


def _together(run: _Run, layouts: tuple[Layout, ...]) -> dict[str, str]:
    """Compute several at once; the reasons of those that failed, by name."""
    try:
        return pressed_together(
            run.study, layouts, run.work, run.heard, run.asked.fresh, run.crusher
        )
    except OSError as error:
        raise _cannot_write(run.work, error) from error


def _press_one(run: _Run, layout: Layout, fresh: bool) -> None:
    """Predict one layout, write what is taken to the press and show it."""
    asked, study, press = run.asked, run.study, run.press
    folder = press_folder(asked.out, study, layout)
    try:
        computed = predicted(study, layout, run.work, run.heard, fresh, run.crusher)
        weakest = computed.prediction
        prediction = weakest if run.fitted is None else scaled(weakest, *run.fitted)
        # What is kept is for steel at its weakest: a fitted yield is used only when asked for.
        keep_prediction(prediction_file(asked.out, study, layout), weakest)
        size = asked.paper or paper_for(study.units.length)
        paper = write_papers(study, press, prediction, computed.flakes, folder, size)
        note_state(run.work, folder, run.state)
    except OSError as error:
        raise _cannot_write(folder, error) from error
    _show(paper)
    limit = press.gauge.to_division(press.gauge.reading(press.limit_n), careful=True)
    most = f"{press.gauge.show(limit)}, {study.units.show_force(press.limit_n)}"
    for caution in press_cautions(most, abs(layout.block.taper_deg)):
        _console().print(Text(f"! {caution}", style="bold"))
    print(f"\nSheet to print: {folder / 'press-test.pdf'}")


def _cannot_write(folder: Path, error: OSError) -> InputError:
    return InputError(
        f"{folder}: {(error.strerror or 'cannot be written').lower()}",
        "make room or choose another folder with --out",
    )


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
        print(f"{progress_line(step)}\n", end="", file=sys.stderr, flush=True)


def _console() -> Console:
    return Console(width=None if sys.stdout.isatty() else _PLAIN_WIDTH, highlight=False)
