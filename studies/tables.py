"""The comparison as a table: on the screen, and as .csv, .json and .md."""

import csv
import io
import json
import math
from dataclasses import asdict, dataclass
from pathlib import Path

from studies.bands_words import accuracy_remarks, band_gloss, banded
from studies.cautions import CAUTIONS
from studies.clamping.section import clamp_csv, clamp_remarks
from studies.hand_table import hand_csv, hand_remarks
from studies.leading import leading, per_mass
from studies.loads import WrapCase
from studies.results import CaseResult, Comparison, LayoutResult
from studies.seats_table import both_yields, seat_remarks, seats_csv
from studies.spreadsheets import guarded
from studies.store import write_whole
from studies.units import OutputUnits
from studies.walls_table import buckling_csv, wall_remarks, walls_csv
from studies.welding.words import governing_weld, weld_shortfalls, welds_csv


@dataclass(frozen=True)
class Line:
    """One row of the printed table: a layout under a load, every cell as text."""

    layout: str
    load: str
    first_yield: str
    ratio: str
    meets: bool
    change: str
    where: str
    shows: str
    stiffness: str
    mass: str
    weld: str
    governs: str
    averaging: str


HEADINGS = {
    "layout": "Layout",
    "load": "Load case",
    "first_yield": "First yield at",
    "ratio": "Times the demand",
    "change": "Against baseline",
    "where": "Where it starts",
    "shows": "Expected to show at",
    "stiffness": "Stiffness",
    "mass": "Mass",
    "weld": "Weld bead",
    "governs": "Weld that governs",
    "averaging": "Stress averaged over",
}


def lines(comparison: Comparison) -> list[Line]:
    """The printed table, layouts in the study's order, loads within them."""
    units = comparison.units
    made = []
    for row in comparison.results:
        for index, case in enumerate(row.cases):
            made.append(
                Line(
                    layout=row.name + (" (baseline)" if row.baseline else ""),
                    load=case.case.name,
                    first_yield=both_yields(units, case),
                    ratio=f"{case.ratio:.2f} ×",
                    meets=case.ratio >= 1.0,
                    change=change_in_words(comparison, row, index),
                    where=case.starts.place,
                    shows=_shows(units, case),
                    stiffness=banded(
                        units.show_stiffness(case.stiffness_n_per_mm), case.bands.stiffness
                    ),
                    mass=units.show_mass(row.mass_kg),
                    weld=units.show_length(row.weld_length_mm),
                    governs=governing_weld(comparison, row, index),
                    averaging=_averaging(comparison, case),
                )
            )
    return made


def _shows(units: OutputUnits, case: CaseResult) -> str:
    """The estimate with its band, or what was computed on yielding steel, marked as such."""
    shown = units.show_force(case.shown_n)
    if case.shown_is_computed:
        return f"{shown}, computed"
    return banded(shown, case.bands.shows)


def _averaging(comparison: Comparison, case: CaseResult) -> str:
    """The length averaged over, and how the stress there hangs on it."""
    length, starts = comparison.units.show_length(case.starts.averaging_mm), case.starts
    half, double = (
        f"{100 * change:+.0f} %" for change in (starts.half_change, starts.double_change)
    )
    return f"{length} ({half} over half, {double} over double)"


def change_in_words(comparison: Comparison, row: LayoutResult, index: int) -> str:
    """How much later or sooner first yield comes than with the baseline."""
    change = _change_percent(comparison, row, index)
    if change is None:
        return "no baseline"
    if row.baseline:
        return "–"
    return f"{round(change):+d} %" if round(change) else "same"


def _change_percent(comparison: Comparison, row: LayoutResult, index: int) -> float | None:
    base = comparison.baseline
    # A block that its U-bolts alone make yield has no load left to measure others against.
    if base is None or base.cases[index].starts.load_n == 0.0:
        return None
    return 100.0 * (row.cases[index].starts.load_n / base.cases[index].starts.load_n - 1.0)


def verdicts(comparison: Comparison) -> list[str]:
    """Which layout is strongest under each load, and which for its mass, a sentence each."""
    if not comparison.results:
        return ["No layout could be computed."]
    said = [_verdict(comparison, index) for index in range(len(comparison.loads))]
    return said + hand_remarks(comparison) + wall_remarks(comparison) + shortfalls(comparison)


def shortfalls(comparison: Comparison) -> list[str]:
    """A sentence on all layouts that yield before the demanded load, and one on small welds."""
    short = [
        f"{row.name} under {case.case.name}"
        for row in comparison.results
        for case in row.cases
        if case.ratio < 1.0
    ]
    said = [f"Yields below the demanded load: {'; '.join(short)}."] if short else []
    return said + weld_shortfalls(comparison)


def _verdict(comparison: Comparison, index: int) -> str:
    """The strongest layout under one load, those too close to tell, and the best for its mass."""
    units, load, found = comparison.units, comparison.loads[index], leading(comparison, index)
    strongest = found.strongest.cases[index]
    if strongest.starts.load_n == 0.0:
        return (
            f"{load.name}: no layout can take any: under soft seats the U-bolts alone make each "
            "yield."
        )
    sentence = (
        f"{load.name}: {found.strongest.name} is strongest, first yield at "
        f"{banded(units.show_force(strongest.starts.load_n), strongest.bands.starts)}, "
        f"{strongest.ratio:.2f} times the {units.show_force(load.demanded_n)} demanded"
    )
    if found.level:
        names = ", ".join(row.name for row in found.level)
        sentence += f" (too close to tell from it: {names})"
    if found.for_mass is found.strongest:
        return f"{sentence}; it is also the strongest for its mass."
    return (
        f"{sentence}; {found.for_mass.name} is the strongest for its mass "
        f"({per_mass(comparison, index, found.for_mass)})."
    )


def load_remarks(comparison: Comparison) -> list[str]:
    """What is worth knowing of each load, once."""
    said = [_lift_remark(comparison, case) for row in comparison.results[:1] for case in row.cases]
    return [one for one in said if one] + clamp_remarks(comparison) + seat_remarks(comparison)


def remarks(comparison: Comparison) -> list[str]:
    """What is worth knowing of each load, once, and of each layout that could not be computed."""
    gloss = [band_gloss()] if comparison.results else []
    return [*accuracy_remarks(comparison), *gloss, *load_remarks(comparison)] + [
        f"{failure.name} could not be computed: {failure.reason}."
        for failure in comparison.failures
    ]


def _lift_remark(comparison: Comparison, case: CaseResult) -> str:
    if case.lift_offset_mm is None or not isinstance(case.case, WrapCase):
        return ""
    show, offset_mm = comparison.units.show_length, math.hypot(*case.case.offset_mm)
    state = "it lifts" if offset_mm > case.lift_offset_mm else "it stays down"
    return (
        f"{case.case.name}: the seat starts to lift when the load is {show(case.lift_offset_mm)} "
        f"off the middle; at {show(offset_mm)} {state}."
    )


def write_tables(comparison: Comparison, folder: Path) -> None:
    """Write comparison.csv, comparison.json and comparison.md into ``folder``."""
    write_whole(folder / "comparison.csv", csv_text(comparison).encode("utf-8-sig"))
    if clamped := clamp_csv(comparison):
        write_whole(folder / "clamp.csv", clamped.encode("utf-8-sig"))
    write_whole(folder / "welds.csv", welds_csv(comparison).encode("utf-8-sig"))
    write_whole(folder / "by_hand.csv", hand_csv(comparison).encode("utf-8-sig"))
    if seats := seats_csv(comparison):
        write_whole(folder / "seats.csv", seats.encode("utf-8-sig"))
    write_whole(folder / "walls.csv", walls_csv(comparison).encode("utf-8-sig"))
    if buckling := buckling_csv(comparison):
        write_whole(folder / "buckling.csv", buckling.encode("utf-8-sig"))
    write_whole(folder / "comparison.json", json_text(comparison).encode())
    write_whole(folder / "comparison.md", markdown_text(comparison).encode())


def csv_text(comparison: Comparison) -> str:
    """One row a layout and load, numbers in the study's units with the unit in the heading."""
    units = comparison.units
    stream = io.StringIO()
    writer = csv.writer(stream)
    force, length = units.force, units.length
    writer.writerow(
        [
            "layout",
            "baseline",
            "pattern",
            "load case",
            f"first yield ({force})",
            f"demanded ({force})",
            "first yield / demanded",
            "change against baseline (%)",
            "part",
            "place",
            "first yield, error band from the mesh (± %)",
            f"expected to show ({force})",
            "expected to show, error band of the estimate (± %)",
            "expected to show, how it was found",
            f"raw peak at the case's load ({units.stress}; grows with refinement, not judged)",
            f"stiffness ({force}/{length})",
            "stiffness, error band from the mesh (± %)",
            f"mass ({units.mass})",
            f"weld bead ({length})",
            f"averaged over ({length})",
            "stress there if averaged over half that length (%)",
            "stress there if averaged over double that length (%)",
            "weld that governs",
            "failure",
        ]
    )
    for row in comparison.results:
        for index, case in enumerate(row.cases):
            writer.writerow(_csv_row(comparison, row, index, case))
    for failure in comparison.failures:
        writer.writerow(
            [guarded(failure.name), failure.baseline, *[""] * 21, guarded(failure.reason)]
        )
    return stream.getvalue()


def _csv_row(
    comparison: Comparison, row: LayoutResult, index: int, case: CaseResult
) -> list[object]:
    units = comparison.units
    per_length = units.length_in(1.0)
    return [
        guarded(row.name),
        row.baseline,
        row.pattern,
        guarded(case.case.name),
        units.force_in(case.starts.load_n),
        units.force_in(case.case.demanded_n),
        case.ratio,
        "" if (change := _change_percent(comparison, row, index)) is None else change,
        guarded(case.starts.part),
        guarded(case.starts.place),
        100.0 * case.bands.starts,
        units.force_in(case.shown_n),
        "" if case.shown_is_computed else 100.0 * case.bands.shows,
        "computed on yielding steel" if case.shown_is_computed else "estimated",
        units.stress_in(case.raw_peak_mpa),
        units.force_in(case.stiffness_n_per_mm) / per_length,
        100.0 * case.bands.stiffness,
        units.mass_in(row.mass_kg),
        units.length_in(row.weld_length_mm),
        units.length_in(case.starts.averaging_mm),
        100.0 * case.starts.half_change,
        100.0 * case.starts.double_change,
        guarded(governing_weld(comparison, row, index)),
        "",
    ]


def json_text(comparison: Comparison) -> str:
    """Everything, in mm, N and MPa."""
    return json.dumps({**asdict(comparison), "cautions": CAUTIONS}, indent=1, ensure_ascii=False)


def markdown_text(comparison: Comparison) -> str:
    """The printed table with its sentences and cautions."""
    out = [f"# {escaped(comparison.title)}", ""]
    out.append("| " + " | ".join(HEADINGS.values()) + " |")
    out.append("|" + "---|" * len(HEADINGS))
    for line in lines(comparison):
        cells = asdict(line)
        out.append("| " + " | ".join(escaped(str(cells[key])) for key in HEADINGS) + " |")
    out.append("")
    for sentence in verdicts(comparison) + remarks(comparison) + list(CAUTIONS):
        out.append(f"- {escaped(sentence)}")
    return "\n".join(out) + "\n"


def escaped(text: str) -> str:
    """Keep a name from ending its cell or line, or from being taken for a tag."""
    return " ".join(text.split()).replace("|", "\\|").replace("<", "&lt;")
