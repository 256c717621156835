"""Measured over predicted, test by test and over all of them: the program's own scorecard."""

import math
import statistics
from dataclasses import dataclass

from studies.pressing.prediction import Prediction, Threshold, ThresholdKey
from studies.records.press_test import Numbered, PressTest

_FEWEST_FOR_SCATTER = 2
_FEW = 5


@dataclass(frozen=True)
class Measured:
    """A load noted in a test beside the one predicted.

    ``doubt`` is how far off the measured load may be, as a share of it: the gauge, and where the
    load lies between two readings, the way between them.
    """

    name: str
    measured_n: float
    predicted_n: float
    doubt: float

    @property
    def ratio(self) -> float:
        """Measured over predicted."""
        return self.measured_n / self.predicted_n


@dataclass(frozen=True)
class Score:
    """How measured loads of one kind stand to those predicted, over the tests that noted one.

    scatter is the standard deviation of the ratios; None with a single test.
    """

    name: str
    count: int
    mean: float
    scatter: float | None
    lowest: float
    highest: float

    @property
    def words(self) -> str:
        """For example ``1.08 ± 0.06 over 7 tests (0.99 to 1.17)``."""
        if self.scatter is None:
            return f"{self.mean:.2f}, one test only, so nothing is known of the scatter"
        few = ", too few to rely on" if self.count < _FEW else ""
        return (
            f"{self.mean:.2f} ± {self.scatter:.2f} (standard deviation) over {self.count} tests"
            f"{few}, from {self.lowest:.2f} to {self.highest:.2f}"
        )


SEEN, SET, CRUSH = "yielding seen", "permanent set", "crush load"


def measured(test: PressTest) -> tuple[Measured, ...]:
    """The loads noted in a test for which something was predicted."""
    if test.prediction is None:
        return ()
    pairs = (
        (SEEN, test.marks.seen_at, _visible(test.prediction), None),
        (SET, test.marks.set_at, test.prediction.threshold("permanent_set"), test.marks.no_set_at),
        (CRUSH, test.marks.crushed_at, _crush(test.prediction), None),
    )
    return tuple(
        _measured(test, name, mark, threshold, below)
        for name, mark, threshold, below in pairs
        if mark is not None and threshold is not None and test.gauge.force_n(mark) > 0.0
    )


def _crush(prediction: Prediction) -> Threshold | None:
    """The highest load, where the computed curve has one."""
    return None if prediction.still_rising else prediction.threshold("crush")


def _visible(prediction: Prediction) -> Threshold | None:
    keys: tuple[ThresholdKey, ...] = ("faint", "shows")
    return next((one for one in map(prediction.threshold, keys) if one is not None), None)


def _measured(
    test: PressTest, name: str, mark: float, threshold: Threshold, below: float | None
) -> Measured:
    """What lay between two readings is put in the middle between them."""
    gauge = test.gauge
    upper_n, tolerance_n = gauge.force_n(mark), gauge.tolerance_n(mark)
    lower_n = upper_n if below is None else gauge.force_n(below)
    middle_n = (upper_n + lower_n) / 2.0
    doubt = math.hypot(tolerance_n, (upper_n - lower_n) / 2.0) / middle_n
    return Measured(name, middle_n, threshold.force_n, doubt)


def scorecard(tests: tuple[Numbered, ...]) -> tuple[Score, ...]:
    """A score for each kind of load that was both predicted before a test and noted in it.

    Predictions put beside a test afterwards do not count, nor do those with a yield fitted to a
    test: they would flatter.
    """
    ratios: dict[str, list[float]] = {}
    for one in tests:
        if counts(one.test):
            for load in measured(one.test):
                ratios.setdefault(load.name, []).append(load.ratio)
    return tuple(_score(name, found) for name, found in ratios.items())


def counts(test: PressTest) -> bool:
    """Whether a test belongs into the scorecard."""
    prediction = test.prediction
    return prediction is not None and test.predicted_before and prediction.yield_times == 1.0


def _score(name: str, ratios: list[float]) -> Score:
    scatter = statistics.stdev(ratios) if len(ratios) >= _FEWEST_FOR_SCATTER else None
    return Score(name, len(ratios), statistics.fmean(ratios), scatter, min(ratios), max(ratios))
