"""A sweep as a table: on the screen, and as .csv, .json and .md."""

import csv
import io
import json
from dataclasses import asdict, dataclass
from pathlib import Path

from studies.bands import LEVEL_SHARE
from studies.cautions import CAUTIONS
from studies.spreadsheets import guarded
from studies.store import write_whole
from studies.sweeps.found import FoundDesign, Sweep
from studies.tables import escaped

BEST = "★"


@dataclass(frozen=True)
class SweepLine:
    """One printed row: a design, its values, its mass and a cell for each load."""

    number: str
    layout: str
    values: tuple[str, ...]
    mass: str
    loads: tuple[str, ...]
    best: bool


def headings(sweep: Sweep) -> list[str]:
    """Headings of the printed table."""
    return ["No.", "Layout", *sweep.headings, "Mass", *sweep.load_names]


def sweep_lines(sweep: Sweep) -> list[SweepLine]:
    """The printed table, by number; under each load first yield, times the demand, and a star on
    the designs that are best for their mass."""
    best = [{one.number for one in sweep.best_for_mass(i)} for i in range(len(sweep.load_names))]
    return [_line(sweep, one, best) for one in sweep.designs]


def _line(sweep: Sweep, one: FoundDesign, best: list[set[int]]) -> SweepLine:
    cells = tuple(
        f"{sweep.units.show_force(case.first_yield_n)}, {case.ratio:.2f} ×"
        + (f" {BEST}" if one.number in best[index] else "")
        for index, case in enumerate(one.cases)
    )
    return SweepLine(
        number=str(one.number),
        layout=one.layout,
        values=one.values,
        mass=sweep.units.show_mass(one.mass_kg),
        loads=cells,
        best=any(one.number in numbers for numbers in best),
    )


def legend() -> str:
    """What the cells of the printed table say."""
    return (
        "Under each load: the load at first yield, and how many times the demanded load that is; "
        f"{BEST} = best for its mass: no other design of this sweep is both lighter and stronger. "
        f"First-yield loads within {100 * LEVEL_SHARE:.0f} % of each other are too close to tell."
    )


def sweep_verdicts(sweep: Sweep) -> list[str]:
    """In short: how many designs, and under each load the strongest and the lightest that meets
    the demand, a sentence each."""
    said = [_count(sweep)]
    for index, name in enumerate(sweep.load_names):
        if not sweep.designs:
            break
        strongest = max(sweep.designs, key=lambda one: one.cases[index].first_yield_n)
        meets = [one for one in sweep.designs if one.cases[index].ratio >= 1.0]
        sentence = f"{name}: {_named(sweep, strongest, index)} is strongest"
        if not meets:
            said.append(f"{sentence}; no design reaches the demanded load.")
            continue
        lightest = min(meets, key=lambda one: (one.mass_kg, -one.cases[index].first_yield_n))
        said.append(
            f"{sentence}; it is also the lightest that reaches the demanded load."
            if lightest is strongest
            else f"{sentence}; {_named(sweep, lightest, index)} is the lightest that reaches the "
            "demanded load."
        )
    return said


def _named(sweep: Sweep, one: FoundDesign, index: int) -> str:
    units = sweep.units
    return (
        f"no. {one.number} ({described(sweep, one)}; {units.show_mass(one.mass_kg)}, first yield "
        f"at {units.show_force(one.cases[index].first_yield_n)})"
    )


def described(sweep: Sweep, one: FoundDesign) -> str:
    """The layout and its values in words."""
    values = [
        f"{heading} {value}"
        for heading, value in zip(sweep.headings, one.values, strict=True)
        if value != "–"
    ]
    return ", ".join([one.layout, *values])


def _count(sweep: Sweep) -> str:
    refused = sum(one.refused for one in sweep.left_out)
    failed = len(sweep.left_out) - refused
    said = f"{len(sweep.designs)} of {len(sweep.rows)} designs computed"
    if refused:
        said += f", {refused} cannot be built"
    if failed:
        said += f", {failed} failed"
    return f"{said}."


def reasons(sweep: Sweep) -> list[tuple[str, str]]:
    """Why designs were left out, each reason once, with the designs' numbers in front."""
    numbers: dict[str, list[str]] = {}
    for one in sweep.left_out:
        numbers.setdefault(one.reason, []).append(str(one.number))
    return [(", ".join(found), reason) for reason, found in numbers.items()]


def write_sweep_tables(sweep: Sweep, folder: Path) -> None:
    """Write sweep.csv, sweep.json and sweep.md into ``folder``."""
    write_whole(folder / "sweep.csv", sweep_csv(sweep).encode("utf-8-sig"))
    write_whole(folder / "sweep.json", sweep_json(sweep).encode())
    write_whole(folder / "sweep.md", sweep_markdown(sweep).encode())


def sweep_csv(sweep: Sweep) -> str:
    """One row a design and load, and one for each design left out; numbers in the study's units."""
    units = sweep.units
    force, length = units.force, units.length
    stream = io.StringIO()
    writer = csv.writer(stream)
    numbers = [
        f"mass ({units.mass})",
        f"weld bead ({length})",
        "load case",
        f"first yield ({force})",
        f"demanded ({force})",
        "first yield / demanded",
        "best for its mass",
        "place",
        f"expected to show ({force})",
        f"stiffness ({force}/{length})",
    ]
    writer.writerow(
        ["number", "layout", *map(guarded, sweep.headings), *numbers, "left out because"]
    )
    best = [{one.number for one in sweep.best_for_mass(i)} for i in range(len(sweep.load_names))]
    for one in sweep.rows:
        start = [one.number, guarded(one.layout), *map(guarded, one.values)]
        if not isinstance(one, FoundDesign):
            writer.writerow([*start, *[""] * len(numbers), guarded(one.reason)])
            continue
        for index, case in enumerate(one.cases):
            writer.writerow(
                [
                    *start,
                    units.mass_in(one.mass_kg),
                    units.length_in(one.weld_length_mm),
                    guarded(case.load_name),
                    units.force_in(case.first_yield_n),
                    units.force_in(case.demanded_n),
                    case.ratio,
                    one.number in best[index],
                    guarded(case.place),
                    units.force_in(case.shows_n),
                    units.force_in(case.stiffness_n_per_mm) / units.length_in(1.0),
                    "",
                ]
            )
    return stream.getvalue()


def sweep_json(sweep: Sweep) -> str:
    """Everything, in mm, N and kg, with the numbers of the designs best for their mass."""
    best = {
        name: [one.number for one in sweep.best_for_mass(index)]
        for index, name in enumerate(sweep.load_names)
    }
    whole = {**asdict(sweep), "best_for_mass": best, "cautions": CAUTIONS}
    return json.dumps(whole, indent=1, ensure_ascii=False)


def sweep_markdown(sweep: Sweep) -> str:
    """The printed table with its sentences and cautions."""
    out = [f"# {escaped(sweep.title)}: sweep", ""]
    out += [f"- {escaped(sentence)}" for sentence in sweep_verdicts(sweep)]
    out += ["", "| " + " | ".join(escaped(one) for one in headings(sweep)) + " |"]
    out.append("|" + "---|" * len(headings(sweep)))
    for line in sweep_lines(sweep):
        cells = [line.number, line.layout, *line.values, line.mass, *line.loads]
        out.append("| " + " | ".join(escaped(cell) for cell in cells) + " |")
    out += ["", legend(), ""]
    for numbers, reason in reasons(sweep):
        out.append(f"- No result for {numbers}: {escaped(reason)}")
    out += ["", *(f"- {escaped(caution)}" for caution in CAUTIONS)]
    return "\n".join(out) + "\n"
