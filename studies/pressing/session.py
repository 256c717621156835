"""One run of ``gussetry press``, as its user sees it."""

import sys
import time
from dataclasses import replace
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from fea.errors import InputError
from geometry.block import Layout
from geometry.mesher import Setting
from studies.paper import PaperSize, paper_for
from studies.paper_html import html_text
from studies.paper_pdf import pdf_bytes
from studies.pressing.cautions import press_cautions
from studies.pressing.choice import chosen_layout, prediction_file, press_folder, press_of
from studies.pressing.compute import predicted
from studies.pressing.curve_chart import draw_curve
from studies.pressing.gauge import Press
from studies.pressing.gauge_chart import draw_gauge_chart
from studies.pressing.holds import hold_plan
from studies.pressing.prediction import Prediction, block_key, keep_prediction, scaled
from studies.pressing.sheet import PressTestPaper, basis, hold_table, press_test_sheet
from studies.records.fit import NoFit, yield_fit
from studies.records.rows import one_test
from studies.store import write_whole
from studies.study import Study, read_study

_PLAIN_WIDTH = 132


def run_press(
    path: Path,
    layout_name: str | None,
    out: Path,
    setting: Setting | None,
    fresh: bool,
    size: PaperSize | None,
    book: Path,
    test_number: int | None,
) -> int:
    """Predict one layout in the shop's press; show it, and write sheet, charts and prediction.

    ``test_number`` takes the yield fitted to that test of the ``book``. Returns 0; raises
    InputError for what cannot be, SolveError when the layout cannot be computed.
    """
    study = read_study(path)
    study = replace(study, setting=setting) if setting else study
    press = press_of(study, path)
    layout = chosen_layout(study, path, layout_name)
    fitted = None if test_number is None else _fitted_yield(book, test_number, layout)
    folder = press_folder(out, study, layout)
    try:
        weakest = predicted(study, layout, out / study.slug, _Heard(), fresh)
        prediction = weakest if fitted is None else scaled(weakest, *fitted)
        # What is kept is for steel at its weakest: a fitted yield is used only when asked for.
        keep_prediction(prediction_file(out, study, layout), weakest)
        paper = _written(study, press, prediction, folder, size or paper_for(study.units.length))
    except OSError as error:
        raise InputError(
            f"{folder}: {(error.strerror or 'cannot be written').lower()}",
            "make room or choose another folder with --out",
        ) from error
    _show(paper)
    limit = press.gauge.to_division(press.gauge.reading(press.limit_n), careful=True)
    for caution in press_cautions(
        f"{press.gauge.show(limit)}, {study.units.show_force(press.limit_n)}"
    ):
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


def _written(
    study: Study, press: Press, prediction: Prediction, folder: Path, size: PaperSize
) -> PressTestPaper:
    """Write charts and sheets into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    units = study.units
    plan = hold_plan(prediction, press, study.rated_load_n, units)
    curve, gauge = folder / "press-curve.png", folder / "gauge-chart.png"
    title = f"{prediction.layout} in the press"
    draw_curve(prediction, units, title, curve, press)
    draw_gauge_chart(press, plan.holds, units, f"Gauge chart: {prediction.layout}", gauge)
    paper = PressTestPaper(
        study.title,
        prediction,
        press,
        plan,
        study.rated_load_n,
        units,
        (
            (
                curve.read_bytes(),
                "Force against ram travel, with the gauge's scale to the right.",
                f"Press curve of {prediction.layout}",
            ),
            (
                gauge.read_bytes(),
                "To pin to the press: gauge readings beside forces, stops marked.",
                f"Gauge chart for {prediction.layout}",
            ),
        ),
    )
    sheet = press_test_sheet(paper)
    write_whole(folder / "press-test.pdf", pdf_bytes(sheet, size))
    write_whole(folder / "press-test.html", html_text(sheet, size).encode())
    return paper


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
        gone = time.monotonic() - self.began
        print(f"{gone:6.1f} s  {name}: {what}", file=sys.stderr, flush=True)


def _console() -> Console:
    return Console(width=None if sys.stdout.isatty() else _PLAIN_WIDTH, highlight=False)
