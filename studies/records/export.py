"""The book as a CSV file: one line for each reading and each load noted."""

import csv
import io

from studies.records.press_test import Numbered, Reading, ten_times_rated
from studies.records.score import CRUSH, SEEN, SET, Measured, measured
from studies.spreadsheets import guarded
from studies.units import size_of

HEADINGS = (
    "test",
    "tested on",
    "tested by",
    "study",
    "layout",
    "pattern",
    "what",
    "gauge reading",
    "gauge unit",
    "gauge at no load",
    "force (kN)",
    "force (US ton)",
    "may be off by (kN)",
    "travel (mm)",
    "travel (in)",
    "seen",
    "predicted (kN)",
    "measured / predicted",
    "rated load (kN)",
    "ten times rated without permanent set",
    "note",
    "photos",
)

_MARKS = {
    "seen_at": ("yielding seen", SEEN),
    "no_set_at": ("no permanent set up to here", ""),
    "set_at": ("permanent set found", SET),
    "crushed_at": ("load rose no further", CRUSH),
}


def csv_text(tests: tuple[Numbered, ...]) -> str:
    """Every test, ready for a spreadsheet; numbers bare, units in the headings."""
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(HEADINGS)
    for one in tests:
        for reading in one.test.readings:
            writer.writerow(_row(one, "reading", reading))
        loads = {load.name: load for load in measured(one.test)}
        for key, (words, name) in _MARKS.items():
            mark = getattr(one.test.marks, key)
            if mark is not None:
                writer.writerow(_row(one, words, Reading(mark, None, ""), loads.get(name)))
    return stream.getvalue()


def _row(one: Numbered, what: str, reading: Reading, load: Measured | None = None) -> list[object]:
    test, gauge = one.test, one.test.gauge
    force_n = gauge.force_n(reading.gauge)
    travel = reading.travel_mm
    return [
        one.number,
        test.tested_on,
        guarded(test.tested_by),
        guarded(test.study),
        guarded(test.layout),
        test.pattern,
        what,
        reading.gauge,
        gauge.unit,
        gauge.zero,
        force_n / 1000.0,
        force_n / size_of("US ton", "force"),
        gauge.tolerance_n(reading.gauge) / 1000.0,
        "" if travel is None else travel,
        "" if travel is None else travel / size_of("in", "length"),
        guarded(reading.saw),
        "" if load is None else load.predicted_n / 1000.0,
        "" if load is None else load.ratio,
        test.rated_load_n / 1000.0,
        ten_times_rated(test),
        guarded(test.note),
        guarded("; ".join(test.photos)),
    ]
