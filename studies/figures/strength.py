"""What is known of a layout's strength under each load, and whether computed or recorded."""

import math
from dataclasses import dataclass
from typing import Literal

from geometry.block import Layout
from studies.loads import ClampCase, CrushCase, LoadCase
from studies.pressing.prediction import Prediction, ThresholdKey, block_key
from studies.records.press_test import Numbered
from studies.results import Comparison, LayoutResult
from studies.welding.judging import governing, judged_layout

Source = Literal["computed", "recorded"]

_PREDICTED: tuple[tuple[ThresholdKey, str], ...] = (
    ("permanent_set", "stays shorter"),
    ("crush", "most it carries"),
)


@dataclass(frozen=True)
class Known:
    """A load at which something happens, the band it lies in, and where it is from.

    ``at_least`` says that the load was carried and nothing is known past it.
    """

    what: str
    source: Source
    detail: str
    load_n: float
    low_n: float
    high_n: float
    at_least: bool = False


@dataclass(frozen=True)
class Panel:
    """All that is known under one load.

    ``base_n`` is the load it is set against and ``base`` what that is called; ``weld`` says what
    the governing weld uses.
    """

    name: str
    base: str
    base_n: float
    demanded_n: float
    known: tuple[Known, ...]
    weld: str


def panels(
    comparison: Comparison,
    row: LayoutResult,
    layout: Layout,
    predicted: Prediction | None,
    tests: tuple[Numbered, ...],
) -> tuple[Panel, ...]:
    """A panel for each load; press curve and press tests stand with the crush loads.

    Tests of any other block than ``layout``'s are left out. Without a crush load, tests that were
    recorded get a panel of their own.
    """
    pressed = _predicted(predicted) + _recorded(layout, tests)
    made = []
    for index, load in enumerate(comparison.loads):
        known = _computed(row, index)
        if isinstance(load, CrushCase):
            known += pressed
        weld = _weld_words(comparison, row, index)
        base = _base(load, comparison.rated_load_n)
        made.append(Panel(load.name, base, load.load_n, load.demanded_n, known, weld))
    if pressed and not any(isinstance(load, CrushCase) for load in comparison.loads):
        rated_n = comparison.rated_load_n
        made.append(Panel("In the press", "rated", rated_n, rated_n, pressed, ""))
    return tuple(made)


def _base(load: LoadCase, rated_load_n: float) -> str:
    """What the load that a case starts from is called."""
    if isinstance(load, ClampCase):
        return "clamp"
    return "rated" if math.isclose(load.load_n, rated_load_n) else "load given"


def _computed(row: LayoutResult, index: int) -> tuple[Known, ...]:
    case = row.cases[index]
    found = [
        _banded("first yield", case.starts.load_n, case.bands.starts),
        _banded("yielding shows", case.shows.load_n, case.bands.shows),
    ]
    buckling = row.walls.buckling_of(case.case.name)
    if buckling:
        found.append(_banded("walls buckle", buckling.load_n, buckling.band or 0.0))
    return tuple(found)


def _banded(what: str, load_n: float, share: float) -> Known:
    return Known(what, "computed", "", load_n, load_n * (1.0 - share), load_n * (1.0 + share))


def _predicted(prediction: Prediction | None) -> tuple[Known, ...]:
    """Loads of the computed press curve, where there is one."""
    if prediction is None or prediction.basis == "elastic":
        return ()
    found = []
    for key, what in _PREDICTED:
        threshold = prediction.threshold(key)
        if threshold and not (key == "crush" and prediction.still_rising):
            low_n, high_n = prediction.band_n(threshold)
            found.append(Known(what, "computed", "press curve", threshold.force_n, low_n, high_n))
    return tuple(found)


def _recorded(layout: Layout, tests: tuple[Numbered, ...]) -> tuple[Known, ...]:
    """What press tests of just this block noted; the band is the gauge's."""
    key = block_key(layout.block)
    found = []
    for one in tests:
        test, marks = one.test, one.test.marks
        if test.block_key != key:
            continue
        for what, mark, at_least in (
            ("no set up to", marks.no_set_at, True),
            ("yielding seen", marks.seen_at, False),
            ("stayed shorter", marks.set_at, False),
            ("rose no further", marks.crushed_at, False),
        ):
            if mark is not None:
                load_n, off_n = test.gauge.force_n(mark), test.gauge.tolerance_n(mark)
                detail = f"test {one.number}, {test.tested_on}"
                found.append(
                    Known(
                        what, "recorded", detail, load_n, load_n - off_n, load_n + off_n, at_least
                    )
                )
    return tuple(found)


def _weld_words(comparison: Comparison, row: LayoutResult, index: int) -> str:
    lines = judged_layout(row, comparison.weld_rules)[index]
    worst = governing(lines)
    if worst is None or worst.used is None:
        return "No fillet to check."
    return (
        f"Weld that governs (computed): {worst.line.name}; the load demanded uses "
        f"{100.0 * worst.used:.0f} % of its strength by {comparison.weld_rules.method}."
    )
