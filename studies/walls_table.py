"""Thin walls in words and tables: how slender they are, and what buckles before it yields."""

import csv
import io
from dataclasses import dataclass

from geometry.walls import Wall
from studies.bands_words import banded
from studies.results import Comparison, LayoutResult
from studies.spreadsheets import guarded

HEADINGS = ("Layout", "Part", "Held along", "Width", "Thickness", "Width / thickness", "Limit")
BUCKLING_HEADINGS = (
    "Layout",
    "Load",
    "Walls buckle at",
    "Times the demand",
    "First yield at",
    "Comes first",
)


@dataclass(frozen=True)
class WallSection:
    """What the report says of thin walls, every cell as text."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    buckling_headings: tuple[str, ...]
    buckling: tuple[tuple[str, ...], ...]
    slender: tuple[str, ...]


def wall_section(comparison: Comparison) -> WallSection:
    """The most slender wall of each kind in every layout, and all buckling loads."""
    return WallSection(
        headings=HEADINGS,
        rows=tuple(
            (row.name, *_cells(comparison, wall))
            for row in comparison.results
            for wall in _worst_of_each_kind(row.walls.walls)
        ),
        buckling_headings=BUCKLING_HEADINGS,
        buckling=tuple(_buckling_rows(comparison)),
        slender=tuple(row.name for row in comparison.results if row.walls.slender),
    )


def _worst_of_each_kind(walls: tuple[Wall, ...]) -> list[Wall]:
    worst: dict[str, Wall] = {}
    for wall in walls:
        known = worst.get(wall.kind)
        if known is None or wall.slenderness / wall.limit > known.slenderness / known.limit:
            worst[wall.kind] = wall
    return list(worst.values())


def _cells(comparison: Comparison, wall: Wall) -> tuple[str, ...]:
    show = comparison.units.show_length
    verdict = "TOO SLENDER" if wall.slender else "stocky"
    return (
        wall.name,
        wall.held,
        show(wall.width_mm),
        show(wall.thickness_mm),
        f"{wall.slenderness:.1f}, {verdict}",
        f"{wall.limit:.1f}",
    )


def _buckling_rows(comparison: Comparison) -> list[tuple[str, ...]]:
    show = comparison.units.show_force
    rows: list[tuple[str, ...]] = []
    for row in comparison.results:
        for case in row.cases:
            found = row.walls.buckling_of(case.case.name)
            if found is not None:
                rows.append(
                    (
                        row.name,
                        case.case.name,
                        banded(show(found.load_n), found.band),
                        f"{found.load_n / case.case.demanded_n:.2f} ×",
                        banded(show(case.starts.load_n), case.bands.starts),
                        "buckling" if found.load_n < case.starts.load_n else "yield",
                    )
                )
    return rows


def wall_remarks(comparison: Comparison) -> list[str]:
    """One sentence on each layout with walls past their limit, none where all are stocky."""
    return [_remark(comparison, row) for row in comparison.results if row.walls.slender]


def _remark(comparison: Comparison, row: LayoutResult) -> str:
    show = comparison.units.show_force
    worst = max(row.walls.slender, key=lambda wall: wall.slenderness / wall.limit)
    said = [
        f"{row.name} has thin walls ({worst.name}: {worst.slenderness:.0f} times as wide as thick, "
        f"the limit is {worst.limit:.0f})"
    ]
    for case in row.cases:
        found = row.walls.buckling_of(case.case.name)
        if found is None:
            continue
        if found.load_n < case.starts.load_n:
            said.append(
                f"under {case.case.name} they buckle at {banded(show(found.load_n), found.band)}, "
                "BEFORE first yield "
                f"at {banded(show(case.starts.load_n), case.bands.starts)}: the lower load counts"
            )
        else:
            said.append(
                f"under {case.case.name} flat ones would buckle at "
                f"{banded(show(found.load_n), found.band)}, past first yield"
            )
    return "; ".join(said) + (". Real walls are never quite flat and buckle earlier.")


def walls_csv(comparison: Comparison) -> str:
    """Every wall of every layout; lengths in the study's unit."""
    units = comparison.units
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(
        [
            *("layout", "part", "held along"),
            *(f"width ({units.length})", f"thickness ({units.length})", "width / thickness"),
            *("limit by AISC 360 table B4.1a", "limit by EN 1993-1-1 class 3", "too slender"),
        ]
    )
    for row in comparison.results:
        for wall in row.walls.walls:
            writer.writerow(
                [
                    *(guarded(row.name), guarded(wall.name), wall.held),
                    *(units.length_in(wall.width_mm), units.length_in(wall.thickness_mm)),
                    *(wall.slenderness, wall.aisc_limit, wall.en_limit, wall.slender),
                ]
            )
    return stream.getvalue()


def buckling_csv(comparison: Comparison) -> str:
    """Every buckling load with its band; empty where all walls are stocky."""
    units = comparison.units
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(
        [
            *("layout", "load case", f"flat walls buckle at ({units.force})"),
            *("error band from the mesh (± %)", "part", "place"),
        ]
    )
    found = [(row.name, one) for row in comparison.results for one in row.walls.buckling]
    for name, one in found:
        share = "none" if one.band is None else 100.0 * one.band
        told = (guarded(one.case), units.force_in(one.load_n), share, one.part, guarded(one.place))
        writer.writerow([guarded(name), *told])
    return stream.getvalue() if found else ""
