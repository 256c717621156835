"""What ``gussetry record`` does, as its user sees it."""

import sys
from dataclasses import replace
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from fea.errors import InputError
from studies.cautions import CAUTIONS
from studies.pressing.choice import chosen_layout, prediction_file, press_of
from studies.pressing.curve_chart import Points, draw_curve
from studies.pressing.prediction import Prediction, kept_prediction, scaled
from studies.records.entry import Typed, entered
from studies.records.export import csv_text
from studies.records.fit import NoFit, YieldFit, yield_fit
from studies.records.press_test import Numbered, PressTest, ten_times_rated
from studies.records.rows import added, all_tests, one_test, predicted
from studies.records.score import counts, measured, scorecard
from studies.store import write_whole
from studies.study import read_study
from studies.units import OutputUnits

_PLAIN_WIDTH = 118


def add(book: Path, path: Path, layout_name: str | None, out: Path, typed: Typed) -> int:
    """Write one test into the book."""
    study = read_study(path)
    press = press_of(study, path)
    layout = chosen_layout(study, path, layout_name)
    prediction = kept_prediction(prediction_file(out, study, layout), layout.block)
    test = entered(study, layout, press.gauge, typed, prediction)
    begun = not book.exists()
    number = added(book, test)
    print(f"{'Began' if begun else 'In'} {book}: test {number}, {test.layout}, {test.tested_on}.")
    if test.highest_n > press.capacity_n:
        print(
            f"! {test.gauge.show(test.highest)} is {study.units.show_force(test.highest_n)}, more "
            f"than the press is rated for: {study.units.show_force(press.capacity_n)}."
        )
    if prediction is None:
        print(
            "No prediction was kept for this block, so there is nothing to set it against. Run: "
            f"gussetry press {path} --layout '{layout.name}', then: "
            f"gussetry record predict {number} {path}"
        )
    _show(Numbered(number, "", test), study.units)
    return 0


def put_prediction(book: Path, number: int, path: Path, out: Path) -> int:
    """Put what is predicted now beside a test that has no prediction."""
    study = read_study(path)
    one = one_test(book, number)
    layout = chosen_layout(study, path, one.test.layout)
    prediction = kept_prediction(prediction_file(out, study, layout), layout.block)
    if prediction is None:
        raise InputError(
            f"{path.name}: nothing is predicted for {layout.name!r} yet",
            f"run: gussetry press {path} --layout '{layout.name}'",
        )
    predicted(book, number, prediction)
    print(f"Test {number} stands beside its prediction, marked as made after the test.")
    return 0


def show_list(book: Path) -> int:
    """All tests, a line each."""
    table = Table()
    for heading in ("Test", "On", "By", "Study", "Layout", "Highest reading", "Ten times rated"):
        table.add_column(heading, overflow="fold")
    for one in all_tests(book):
        test = one.test
        cells = (test.tested_on, test.tested_by, test.study, test.layout)
        highest = test.gauge.show(test.highest)
        table.add_row(str(one.number), *map(Text, cells), highest, ten_times_rated(test))
    _console().print(table)
    print("Ten times rated: carried ten times its rated load without permanent set.")
    return 0


def show_one(book: Path, number: int, units: OutputUnits, picture: Path | None) -> int:
    """One test with its readings, the yield that fits it, and its points on the curve."""
    one = one_test(book, number)
    _show(one, units)
    if picture is not None:
        draw_test(one, units, picture)
        print(f"Picture: {picture}")
    return 0


def draw_test(one: Numbered, units: OutputUnits, path: Path) -> None:
    """The test's points on the predicted curve; raises InputError when nothing can be drawn."""
    test = one.test
    if test.prediction is None:
        raise InputError(
            f"test {one.number} has no prediction to be drawn on",
            f"run: gussetry record predict {one.number} STUDY.toml",
        )
    stops = [reading for reading in test.readings if reading.travel_mm is not None]
    points = Points(
        tuple(reading.travel_mm or 0.0 for reading in stops),
        tuple(test.gauge.force_n(reading.gauge) for reading in stops),
        tuple(test.gauge.tolerance_n(reading.gauge) for reading in stops),
        f"measured, test {one.number}",
    )
    fit = yield_fit(test)
    fitted = None
    if isinstance(fit, YieldFit):
        fitted = _fitted(test.prediction, fit, one.number)
    title = f"{test.layout}, pressed on {test.tested_on} by {test.tested_by}"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        draw_curve(test.prediction, units, title, path, None, points if stops else None, fitted)
    except OSError as error:
        raise InputError(
            f"{path}: {(error.strerror or 'cannot be written').lower()}", "choose another place"
        ) from error


def _fitted(prediction: Prediction, fit: YieldFit, number: int) -> Prediction:
    """The prediction for the steel as fitted, moved by the slack found."""
    stronger = scaled(prediction, fit.times, f"{fit.times:.2f} × the minimum, by test {number}")
    return replace(
        stronger,
        travel_mm=tuple(max(value + fit.slack_mm, 0.0) for value in stronger.travel_mm),
        valid_to_mm=stronger.valid_to_mm + fit.slack_mm,
    )


def export(book: Path, path: Path) -> int:
    """All tests as CSV."""
    text = csv_text(all_tests(book))
    try:
        write_whole(path, text.encode("utf-8-sig"))
    except OSError as error:
        raise InputError(
            f"{path}: {(error.strerror or 'cannot be written').lower()}", "choose another place"
        ) from error
    print(f"Wrote {path}")
    return 0


def show_score(book: Path) -> int:
    """How well predictions have done over all tests."""
    tests = all_tests(book)
    scores = scorecard(tests)
    print("Measured over predicted (1.00 would be on the spot; steel is predicted at its weakest):")
    for score in scores:
        print(f"• {score.name}: {score.words}")
    if not scores:
        print("• no test yet has a load noted that was predicted before it")
    left_out = [str(one.number) for one in tests if not counts(one.test)]
    if left_out:
        print(f"Left out, with no prediction made before the test: {', '.join(left_out)}.")
    for one in tests:
        fit = yield_fit(one.test)
        if isinstance(fit, YieldFit):
            print(f"Test {one.number}, {one.test.layout}: {_fit_words(one.test, fit)}")
    return 0


def _fit_words(test: PressTest, fit: YieldFit | NoFit) -> str:
    if isinstance(fit, NoFit):
        return f"yield strength not fitted: {fit.reason}"
    steel = f" ({test.prediction.steel_words})" if test.prediction else ""
    return (
        f"the steel yields at {fit.times:.2f} ± {fit.plus_minus:.2f} times the figure predicted "
        f"with{steel}, 19 times in 20; from {fit.method}, {fit.points} "
        f"{'point' if fit.points == 1 else 'points'}"
    )


def _show(one: Numbered, units: OutputUnits) -> None:
    test, gauge, console = one.test, one.test.gauge, _console()
    console.print(
        Text(f"Test {one.number}: {test.layout} ({test.study}), {test.tested_on}, {test.tested_by}")
    )
    table = Table()
    for heading in ("Gauge", "Force", "May be off by", "Travel", "Seen"):
        table.add_column(heading, overflow="fold")
    for reading in test.readings:
        table.add_row(
            gauge.show(reading.gauge),
            units.show_force(gauge.force_n(reading.gauge)),
            units.show_force(gauge.tolerance_n(reading.gauge)),
            "–" if reading.travel_mm is None else units.show_length(reading.travel_mm),
            Text(reading.saw),
        )
    if test.readings:
        console.print(table)
    for words, mark in (
        ("Yielding first seen at", test.marks.seen_at),
        ("No permanent set up to", test.marks.no_set_at),
        ("Permanent set found at", test.marks.set_at),
        ("The load rose no further than", test.marks.crushed_at),
    ):
        if mark is not None:
            print(f"{words} {gauge.show(mark)}, {units.show_force(gauge.force_n(mark))}.")
    print(f"Ten times its rated load without permanent set: {ten_times_rated(test)}.")
    for load in measured(test):
        print(
            f"{load.name[0].upper()}{load.name[1:]}: measured {units.show_force(load.measured_n)}, "
            f"predicted {units.show_force(load.predicted_n)}, ratio {load.ratio:.2f}."
        )
    if test.prediction is not None and not test.predicted_before:
        print("That prediction was put beside it after the test.")
    words = _fit_words(test, yield_fit(test))
    console.print(Text(f"{words[0].upper()}{words[1:]}."))
    for words, value in (("Note", test.note), ("Photos", "; ".join(test.photos))):
        if value:
            console.print(Text(f"{words}: {value}"))
    for caution in CAUTIONS:
        console.print(Text(f"! {caution}", style="bold"))


def _console() -> Console:
    return Console(width=None if sys.stdout.isatty() else _PLAIN_WIDTH, highlight=False)
