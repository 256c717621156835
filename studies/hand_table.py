"""Hand sums beside computed figures, in words and tables."""

import csv
import io
from dataclasses import dataclass

from studies.hand import HandCheck
from studies.results import Comparison
from studies.spreadsheets import guarded

HEADINGS = ("Layout", "Figure", "Lowest sum by hand", "By hand", "Computed", "Ratio", "Believable")


@dataclass(frozen=True)
class HandSection:
    """What the report says of the hand sums: rows of text under each load, and remarks."""

    headings: tuple[str, ...]
    groups: tuple[tuple[str, tuple[tuple[str, ...], ...]], ...]
    remarks: tuple[str, ...]


def hand_section(comparison: Comparison) -> HandSection:
    """The report's section; each row's last cell but one starts with the ratio."""
    groups = []
    for load in comparison.loads:
        rows = [
            (row.name, *_cells(comparison, check))
            for row in comparison.results
            for case in row.cases
            if case.case.name == load.name
            for check in case.by_hand
        ]
        if rows:
            groups.append((load.name, tuple(rows)))
    return HandSection(HEADINGS, tuple(groups), tuple(hand_remarks(comparison)))


def _shown(comparison: Comparison, check: HandCheck, value: float) -> str:
    units = comparison.units
    if check.figure == "stiffness":
        return units.show_stiffness(value)
    return units.show_force(value)


def _cells(comparison: Comparison, check: HandCheck) -> tuple[str, ...]:
    return (
        check.figure,
        check.governing.what,
        _shown(comparison, check, check.governing.value),
        _shown(comparison, check, check.computed),
        f"{check.ratio:.2f}" + ("" if check.believable else " OUTSIDE"),
        f"{check.lowest:.2f} to {check.highest:.2f}",
    )


def hand_remarks(comparison: Comparison) -> list[str]:
    """One sentence on each figure that no hand sum makes believable; none where all are."""
    return [
        f"Do not trust this yet: {row.name} under {case.case.name}, {check.figure} computed as "
        f"{_shown(comparison, check, check.computed)} is {check.ratio:.2f} times the "
        f"{_shown(comparison, check, check.governing.value)} by hand "
        f"({check.governing.what}), outside {check.lowest:.2f} to {check.highest:.2f}; "
        "check sizes, units and steels, and try another mesh setting."
        for row in comparison.results
        for case in row.cases
        for check in case.by_hand
        if not check.believable
    ]


def hand_csv(comparison: Comparison) -> str:
    """Every hand sum of every layout and load, in the study's units."""
    units = comparison.units
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(
        [
            *("layout", "load case", "figure", "sum by hand", "by hand", "computed", "unit"),
            *("computed / by hand", "governs", "lowest believable", "highest believable"),
            "believable",
        ]
    )
    for row in comparison.results:
        for case in row.cases:
            for check in case.by_hand:
                stiff = check.figure == "stiffness"
                per = units.length_in(1.0) if stiff else 1.0
                unit = f"{units.force}/{units.length}" if stiff else units.force
                for one in check.sums:
                    governs = one is check.governing
                    by_hand = units.force_in(one.value) / per
                    computed = units.force_in(check.computed) / per
                    bounds = (check.lowest, check.highest, check.believable)
                    writer.writerow(
                        [
                            *(guarded(row.name), guarded(case.case.name), check.figure, one.what),
                            *(by_hand, computed, unit, computed / by_hand, governs),
                            *(bounds if governs else ("", "", "")),
                        ]
                    )
    return stream.getvalue()
