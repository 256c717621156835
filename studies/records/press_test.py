"""One press test as it was made."""

from dataclasses import dataclass
from typing import Literal

from studies.pressing.gauge import Gauge
from studies.pressing.prediction import RATED_TIMES, Prediction


@dataclass(frozen=True)
class Reading:
    """What the gauge showed, in its own unit, how far the ram had come, and what was seen."""

    gauge: float
    travel_mm: float | None
    saw: str


@dataclass(frozen=True)
class Marks:
    """Gauge readings at which something was noted; None where it was not.

    seen_at      yielding first seen, as cracked mill scale
    no_set_at    the highest from which the block, unloaded, had its old height
    set_at       the lowest from which it stayed shorter
    crushed_at   the load rose no further
    """

    seen_at: float | None = None
    no_set_at: float | None = None
    set_at: float | None = None
    crushed_at: float | None = None


@dataclass(frozen=True)
class PressTest:
    """Who pressed which block when, on which press, and what came of it.

    ``prediction`` is what had been predicted, if it was; ``predicted_before`` says that it stood
    when the test was recorded, and was not put beside it later.
    """

    tested_on: str
    tested_by: str
    study: str
    layout: str
    pattern: str
    block_key: str
    rated_load_n: float
    gauge: Gauge
    readings: tuple[Reading, ...]
    marks: Marks
    note: str
    photos: tuple[str, ...]
    prediction: Prediction | None = None
    predicted_before: bool = False

    @property
    def highest(self) -> float:
        """The highest gauge reading noted anywhere."""
        marks = (self.marks.seen_at, self.marks.no_set_at, self.marks.set_at, self.marks.crushed_at)
        noted = [one.gauge for one in self.readings]
        return max(noted + [mark for mark in marks if mark is not None])

    @property
    def highest_n(self) -> float:
        """The force behind it."""
        return self.gauge.force_n(self.highest)


@dataclass(frozen=True)
class Numbered:
    """A test in the book, with its number and when it was written there (UTC)."""

    number: int
    recorded_at: str
    test: PressTest


Verdict = Literal["passed", "failed", "not shown"]


def ten_times_rated(test: PressTest) -> Verdict:
    """Whether the block carried ten times its rated load without permanent set.

    Passed only when that holds whichever way the gauge is off; failed only when it fails so.
    """
    demanded_n = RATED_TIMES * test.rated_load_n
    gauge, marks = test.gauge, test.marks
    if marks.no_set_at is not None:
        least_n = gauge.force_n(marks.no_set_at) - gauge.tolerance_n(marks.no_set_at)
        if least_n >= demanded_n:
            return "passed"
    for mark in (marks.set_at, marks.crushed_at):
        if mark is not None and gauge.force_n(mark) + gauge.tolerance_n(mark) <= demanded_n:
            return "failed"
    return "not shown"
