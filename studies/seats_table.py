"""Soft and stiff seats in words and tables."""

import csv
import io
from dataclasses import dataclass
from itertools import repeat

from studies.bands_words import banded
from studies.loads import WrapCase
from studies.results import CaseResult, Comparison
from studies.spreadsheets import guarded
from studies.stiff_results import StiffRun, StiffSeats
from studies.units import OutputUnits

HEADINGS = (
    "Layout",
    "Load",
    "Soft seats",
    "Stiff seats, steel slides",
    "Stiff seats, steel grips",
    "Seat on top touches",
    "Plate below touches",
    "Far side of the seat",
    "Highest pressure",
)


@dataclass(frozen=True)
class SeatSection:
    """What the report says of stiff seats, every cell as text; no rows where none were asked."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def seat_section(comparison: Comparison) -> SeatSection:
    """First yield on soft and stiff seats, and how the stiff ones touch, a row a layout and load.

    Touch and pressure are those of the run that yields first, under the load demanded.
    """
    return SeatSection(
        HEADINGS,
        tuple(
            (row.name, *_cells(comparison.units, case))
            for row in comparison.results
            for case in row.cases
            if case.stiff is not None and case.stiff.governing is not None
        ),
    )


def _cells(units: OutputUnits, case: CaseResult) -> tuple[str, ...]:
    assert case.stiff is not None  # the caller chose only these
    assert case.stiff.governing is not None
    worst = case.stiff.governing
    by_friction = {run.sticking: _first_yield(units, run) for run in case.stiff.runs}
    peak_mpa = worst.peak_mpa * case.case.demand_multiple
    return (
        case.case.name,
        banded(units.show_force(case.starts.load_n), case.bands.starts),
        by_friction.get(False, "–"),
        by_friction.get(True, "–"),
        _percent(worst.above.share),
        _percent(worst.below.share),
        "LIFTS" if worst.lifted else "stays down",
        banded(units.show_stress(peak_mpa), worst.peak_band),
    )


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} % of it"


def both_yields(units: OutputUnits, case: CaseResult) -> str:
    """First yield, soft seats before the stroke and stiff ones after it where both are known."""
    soft = units.show_force(case.starts.load_n)
    if case.stiff is None or case.stiff.governing is None:
        return banded(soft, case.bands.starts)
    return f"{banded(soft, case.bands.starts)} / {_first_yield(units, case.stiff.governing)}"


def _first_yield(units: OutputUnits, run: StiffRun) -> str:
    return banded(units.show_force(run.starts.load_n), run.bands.starts if run.bands else None)


def seat_remarks(comparison: Comparison) -> list[str]:
    """What the stroke in first yield means, and which layouts fall short only on stiff seats."""
    cases = [(row, case) for row in comparison.results for case in row.cases if case.stiff]
    if not cases:
        return []
    said = [
        "First yield stands twice, as soft / stiff: between soft seats, whose pressure follows "
        "statics, and between stiff flat ones that only push (the lower of sliding and gripping). "
        "For a crush load the first is with plates that hold on everywhere. Real seats lie in "
        "between; go by the lower."
    ]
    if any(isinstance(case.case, WrapCase) and case.case.clamp_n for _, case in cases):
        said.append(
            "On the clamped block, stiff seats touch and press as told under clamp and demanded "
            "load together, gripping as if both had come at once."
        )
    short = [
        f"{row.name} under {case.case.name}"
        for row, case in cases
        if case.stiff and case.stiff.governing
        if case.stiff.governing.starts.load_n < case.case.demanded_n
        if case.ratio >= 1.0
    ]
    if short:
        said.append(f"On stiff seats alone, yields below the demanded load: {'; '.join(short)}.")
    said += [
        f"{row.name} under {case.case.name}: {_lacking(case.stiff)}: {case.stiff.trouble}."
        for row, case in cases
        if case.stiff and case.stiff.trouble
    ]
    return said


def _lacking(seats: StiffSeats) -> str:
    """What of a load's figures on stiff seats did not come out on both meshes."""
    if any(run.bands is None for run in seats.runs):
        return "a figure on stiff seats was found on one of two meshes only and has no ±"
    return "a figure on stiff seats is missing"


def seats_csv(comparison: Comparison) -> str:
    """Every run between stiff seats; empty where none were asked. Pressures at the case's load."""
    units = comparison.units
    found = [
        (row.name, case, run)
        for row in comparison.results
        for case in row.cases
        for run in (case.stiff.runs if case.stiff else ())
    ]
    if not found:
        return ""
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(
        [
            *("layout", "load case", "steel on the seats"),
            f"first yield on soft seats ({units.force})",
            "first yield on soft seats, error band from the mesh (± %)",
            f"first yield on stiff seats ({units.force})",
            "first yield on stiff seats, error band from the mesh (± %)",
            f"expected to show on stiff seats ({units.force})",
            "expected to show on stiff seats, error band (± %)",
            *("place", "seat touches (share)", "plate below touches (share)", "far side lifts"),
            f"highest pressure above at the case's load ({units.stress})",
            "highest pressure above, error band from the mesh (± %)",
            f"highest pressure below at the case's load ({units.stress})",
            "highest pressure below, error band from the mesh (± %)",
            f"pressure averaged over ({units.length})",
            f"widest gap at the case's load ({units.length})",
            "resultants off by (share of the load)",
        ]
    )
    for name, case, run in found:
        writer.writerow([guarded(name), guarded(case.case.name), *_csv_cells(units, case, run)])
    return stream.getvalue()


def _csv_cells(units: OutputUnits, case: CaseResult, run: StiffRun) -> list[object]:
    bands = run.bands
    starts, shows, above, below = (
        (100.0 * one for one in (bands.starts, bands.shows, bands.above, bands.below))
        if bands
        else repeat("none", 4)
    )
    return [
        "grips" if run.sticking else "slides",
        units.force_in(case.starts.load_n),
        100.0 * case.bands.starts,
        units.force_in(run.starts.load_n),
        starts,
        units.force_in(run.shows.load_n),
        shows,
        guarded(run.starts.place),
        run.above.share,
        run.below.share,
        run.lifted,
        units.stress_in(run.above.peak_mpa),
        above,
        units.stress_in(run.below.peak_mpa),
        below,
        units.length_in(run.above.averaging_mm),
        units.length_in(max(run.above.gap_mm, run.below.gap_mm)),
        run.imbalance,
    ]
