"""Clamping in sentences and tables of a comparison."""

import csv
import io
from dataclasses import dataclass

from studies.bands_words import banded
from studies.cautions import CLAMP_CAUTION
from studies.clamping.u_bolts import SCATTER, ClampFinding
from studies.clamping.words import bolt_remarks
from studies.loads import ClampCase, WrapCase
from studies.results import CaseResult, Comparison, LayoutResult
from studies.spreadsheets import guarded

ALONE_HEADINGS = (
    "Layout",
    "Stress under the clamp alone",
    "Share of yield",
    "First yield at",
    "Times the clamp force",
    "Where",
)
LOAD_HEADINGS = (
    "Layout",
    "Load",
    "First yield, on top of the clamp",
    "A seat opens at (by statics)",
    "Axle torque that opens it (by statics)",
    "Seats at first yield",
)


@dataclass(frozen=True)
class ClampSection:
    """What the report says of the U-bolts, every cell as text; empty without any."""

    bolts: tuple[str, ...]
    caution: str
    alone_headings: tuple[str, ...]
    alone: tuple[tuple[str, ...], ...]
    load_headings: tuple[str, ...]
    loads: tuple[tuple[str, ...], ...]


def clamp_section(comparison: Comparison) -> ClampSection:
    """The clamp alone and every load on the clamped block, a row each and layout."""
    found = list(_found(comparison))
    return ClampSection(
        bolts=tuple(_bolt_remarks(comparison)),
        caution=CLAMP_CAUTION,
        alone_headings=ALONE_HEADINGS,
        alone=tuple(
            _alone_row(comparison, row, case, clamp)
            for row, case, clamp in found
            if isinstance(case.case, ClampCase)
        ),
        load_headings=LOAD_HEADINGS,
        loads=tuple(
            _load_row(comparison, row, case, clamp)
            for row, case, clamp in found
            if isinstance(case.case, WrapCase)
        ),
    )


def clamp_remarks(comparison: Comparison) -> list[str]:
    """What is worth knowing of the U-bolts and of each load on the clamped block, once."""
    said = _bolt_remarks(comparison)
    for row, case, clamp in _found(comparison):
        if row is comparison.results[0] and isinstance(case.case, WrapCase):
            said.append(_opening_remark(comparison, case, clamp))
    over = [
        row.name
        for row, case, clamp in _found(comparison)
        if isinstance(case.case, ClampCase) and clamp.clamp_share >= 1.0
    ]
    if over:
        said.append(
            f"The U-bolts alone make {', '.join(over)} yield under the even pressure of a soft "
            "seat, which bends the plates more than a stiff spring pack does. Thicker plates help; "
            "a torque below the vehicle's service data does not, for the bolts then work loose."
        )
    tipping = [
        f"{row.name} under {case.case.name}"
        for row, case, clamp in _found(comparison)
        if clamp.falls_at_n is not None and case.starts.load_n >= 0.999 * clamp.falls_at_n
    ]
    if tipping:
        said.append(
            f"Here the load tips off its seat before anything yields, and the figure given is "
            f"where it tips: {'; '.join(tipping)}."
        )
    return said + [CLAMP_CAUTION] if said else []


def _found(comparison: Comparison) -> list[tuple[LayoutResult, CaseResult, ClampFinding]]:
    return [
        (row, case, case.clamp)
        for row in comparison.results
        for case in row.cases
        if case.clamp is not None
    ]


def _bolt_remarks(comparison: Comparison) -> list[str]:
    return [
        sentence
        for load in comparison.loads
        if isinstance(load, ClampCase)
        for sentence in bolt_remarks(load.bolts, comparison.units)
    ]


def _opening_remark(comparison: Comparison, case: CaseResult, clamp: ClampFinding) -> str:
    units = comparison.units
    held = f"clamped with {units.show_force(clamp.clamp_n)}"
    if clamp.opens_at_n is None:
        grows = "as the load grows, the seats stay closed throughout"
    else:
        grows = f"as the load grows, a seat starts to open at {units.show_force(clamp.opens_at_n)}"
    if clamp.opening_moment_n_mm is not None:
        load_n = case.case.load_n
        low, high = (
            clamp.opening_moment_n_mm * (share * clamp.clamp_n + load_n) / (clamp.clamp_n + load_n)
            for share in (1.0 / (1.0 + SCATTER), 1.0 / (1.0 - SCATTER))
        )
        grows += (
            f"; with the load at {units.show_force(load_n)}, at an axle torque of "
            f"{units.show_moment(clamp.opening_moment_n_mm)} ({units.show_moment(low)} to "
            f"{units.show_moment(high)}, as nut factors differ)"
        )
    return f"{case.case.name}, {held}: {grows}."


def _alone_row(
    comparison: Comparison, row: LayoutResult, case: CaseResult, clamp: ClampFinding
) -> tuple[str, ...]:
    units = comparison.units
    return (
        row.name,
        # First yield is the clamp force over this share of yield: one band serves both.
        banded(units.show_stress(clamp.clamp_stress_mpa), case.bands.starts),
        f"{100.0 * clamp.clamp_share:.0f} %",
        banded(units.show_force(case.starts.load_n), case.bands.starts),
        f"{case.starts.load_n / clamp.clamp_n:.2f} ×",
        case.starts.place,
    )


def _load_row(
    comparison: Comparison, row: LayoutResult, case: CaseResult, clamp: ClampFinding
) -> tuple[str, ...]:
    units = comparison.units
    opens, moment = clamp.opens_at_n, clamp.opening_moment_n_mm
    return (
        row.name,
        case.case.name,
        banded(units.show_force(case.starts.load_n), case.bands.starts),
        "never" if opens is None else units.show_force(opens),
        "–" if moment is None else units.show_moment(moment),
        "one has opened" if clamp.open_at_yield else "closed",
    )


def clamp_csv(comparison: Comparison) -> str:
    """One row a layout and load that the U-bolts are part of, units in the headings; or nothing."""
    if not _found(comparison):
        return ""
    units = comparison.units
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(
        [
            "layout",
            "load case",
            f"clamp force ({units.force})",
            f"stress under the clamp alone ({units.stress})",
            "share of yield under the clamp alone",
            "stress under the clamp alone, error band from the mesh (± %)",
            f"first yield ({units.force}; for the clamp its own force, else on top of it)",
            "first yield, error band from the mesh (± %)",
            f"a seat opens at ({units.force}; by statics; empty: never)",
            f"axle torque that opens it ({units.moment}; by statics)",
            "a seat is open at first yield",
        ]
    )
    found = _found(comparison)
    alone = {
        row.name: 100.0 * case.bands.starts
        for row, case, _ in found
        if isinstance(case.case, ClampCase)
    }
    for row, case, clamp in found:
        opens, moment = clamp.opens_at_n, clamp.opening_moment_n_mm
        writer.writerow(
            [
                guarded(row.name),
                guarded(case.case.name),
                units.force_in(clamp.clamp_n),
                units.stress_in(clamp.clamp_stress_mpa),
                clamp.clamp_share,
                alone.get(row.name, ""),
                units.force_in(case.starts.load_n),
                100.0 * case.bands.starts,
                "" if opens is None else units.force_in(opens),
                "" if moment is None else units.moment_in(moment),
                clamp.open_at_yield,
            ]
        )
    return stream.getvalue()
