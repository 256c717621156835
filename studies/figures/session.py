"""One run of ``gussetry figures``, as its user sees it."""

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from fea.errors import GussetryError, InputError
from geometry.block import Layout
from geometry.mesher import Setting
from studies.cautions import cautions_for
from studies.compare import compared, made_ready
from studies.figures.drawing import write_drawing
from studies.figures.gallery import rendered
from studies.figures.ground import Ground
from studies.figures.look import Look
from studies.figures.page import sizes_words
from studies.figures.paint import paint
from studies.figures.snippets import shown, write_snippets
from studies.figures.strength import Panel, panels
from studies.figures.strength_chart import chart_words, draw_chart
from studies.loads import ClampCase
from studies.made_from import note_state, state_of
from studies.pictures import Figure
from studies.pressing.choice import chosen_layout, prediction_file
from studies.pressing.prediction import Prediction, kept_prediction
from studies.records.press_test import Numbered
from studies.records.rows import all_tests
from studies.results import Comparison, LayoutFailure, LayoutResult
from studies.study import Study, read_study, slug

USUAL_BOOK = Path("press-tests.sqlite")


@dataclass(frozen=True)
class FiguresRequest:
    """What the user asks for; None leaves layout and mesh setting to the study file.

    Without a ``book``, the usual one is read if it is there.
    """

    study: Path
    layout: str | None
    out: Path
    setting: Setting | None
    fresh: bool
    colour: str
    ground: Ground
    pixels: int
    book: Path | None


def run_figures(asked: FiguresRequest) -> int:
    """Compute one layout if need be, draw and describe it; 0 when every picture was made, else 1.

    Raises InputError for what cannot be asked for or written.
    """
    look = Look(paint(asked.colour), asked.colour.strip(), asked.ground, asked.pixels)
    state, study = state_of(asked.study), read_study(asked.study)
    study = replace(study, setting=asked.setting) if asked.setting else study
    layout = chosen_layout(study, asked.study, asked.layout)
    tests = _tests(asked.book)
    work = asked.out / study.slug
    folder = work / "figures" / f"{study.layouts.index(layout) + 1:02d}-{slug(layout.name)}"
    made_ready(work, folder)
    one = replace(study, layouts=(layout,))
    try:
        comparison = compared(one, work, _Heard(), asked.fresh)
        predicted = kept_prediction(prediction_file(asked.out, study, layout), layout.block)
        figures, amiss = _drawn(study, layout, comparison, predicted, tests, work, folder, look)
        write_snippets(shown(figures, folder), folder)
        note_state(work, folder, state)
        if not amiss:
            _clear_old(folder, figures)
    except OSError as error:
        raise InputError(
            f"{folder}: {(error.strerror or 'cannot be written').lower()}",
            "make room or choose another folder with --out",
        ) from error
    for figure in figures:
        print(folder / figure.file_name)
    for caution in cautions_for(any(isinstance(load, ClampCase) for load in study.loads)):
        print(f"! {caution}")
    for problem in amiss:
        print(f"gussetry: {problem}", file=sys.stderr)
    print(f"\nTexts for these pictures: {folder / 'figures.html'}, .md and .json")
    return 1 if amiss else 0


def _drawn(
    study: Study,
    layout: Layout,
    comparison: Comparison,
    predicted: Prediction | None,
    tests: tuple[Numbered, ...],
    work: Path,
    folder: Path,
    look: Look,
) -> tuple[tuple[Figure, ...], list[str]]:
    """What could be drawn, and in a line each what could not."""
    row = comparison.rows[0]
    figures: list[Figure] = []
    amiss: list[str] = []
    if isinstance(row, LayoutFailure):
        amiss.append(f"{row.name} has no pictures of its strength: {row.reason}")
    found = row if isinstance(row, LayoutResult) else None
    steps: list[Callable[[], tuple[Figure, ...]]] = [
        lambda: (_drawing(study, layout, folder, look),),
        lambda: rendered(study, layout, found, work / "fields", folder, look),
    ]
    if found:
        made = panels(comparison, found, layout, predicted, tests)
        steps.insert(1, lambda: (_chart(study, layout, made, folder, look),))
    for step in steps:
        try:
            figures += step()
        except InputError:
            raise
        except GussetryError as error:
            # One kind of picture that cannot be had costs no other.
            amiss.append(str(error))
    return tuple(figures), amiss


def _clear_old(folder: Path, figures: tuple[Figure, ...]) -> None:
    """Remove pictures of loads that the study no longer has."""
    names = {figure.file_name for figure in figures}
    for path in folder.glob("load-*.png"):
        if path.name not in names:
            path.unlink()


def _drawing(study: Study, layout: Layout, folder: Path, look: Look) -> Figure:
    write_drawing(study, layout, folder, look.pixels, look.ground)
    block = layout.block
    pin = f", pin {sizes_words((block.pin.length_mm,))} more" if block.pin else ""
    return Figure(
        "drawing.png",
        f"{layout.name}: from above, from the side and from the front, in millimetres and inches.",
        f"Dimensioned drawing of the spacer block “{layout.name}”. Top plate "
        f"{sizes_words((block.top.length_mm, block.top.width_mm, block.top.thickness_mm))}; "
        f"bottom plate "
        f"{sizes_words((block.bottom.length_mm, block.bottom.width_mm, block.bottom.thickness_mm))}"
        f"; tube {sizes_words((block.tube.length_mm, block.tube.width_mm, study.shop.wall_mm))}, "
        f"{sizes_words((block.tube.height_mm,))} high; whole height "
        f"{sizes_words((block.height_mm,))}{pin}.",
    )


def _chart(
    study: Study, layout: Layout, made: tuple[Panel, ...], folder: Path, look: Look
) -> Figure:
    draw_chart(layout.name, made, study.units, folder, look.pixels, look.ground)
    recorded = any(one.source == "recorded" for panel in made for one in panel.known)
    return Figure(
        "strength.png",
        "Loads known of this layout beside the rated load. Bars are computed"
        + (", diamonds recorded in press tests." if recorded else "; no press test is recorded.")
        + f" {' '.join(_cautions(made))}",
        f"Strength chart of the spacer block “{layout.name}”. {chart_words(made, study.units)}",
    )


def _cautions(made: tuple[Panel, ...]) -> tuple[str, ...]:
    return cautions_for(any(panel.base == "clamp" for panel in made))


def _tests(book: Path | None) -> tuple[Numbered, ...]:
    if book is None and not USUAL_BOOK.exists():
        return ()
    return all_tests(book or USUAL_BOOK)


class _Heard:
    """Says on the error stream what is being done."""

    def __init__(self) -> None:
        self.began = time.monotonic()

    def __call__(self, name: str, what: str) -> None:
        gone = time.monotonic() - self.began
        print(f"{gone:6.1f} s  {name}: {what}", file=sys.stderr, flush=True)
