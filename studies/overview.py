"""The comparison at a glance: who leads under each load, and every layout with its error bands."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from studies.leading import leading, per_mass
from studies.loads import ClampCase, LoadCase
from studies.results import CaseResult, Comparison, LayoutResult
from studies.seats_table import both_yields
from studies.tables import change_in_words, verdicts

_HEADROOM = 1.03


@dataclass(frozen=True)
class Bar:
    """A first-yield load with its error band and the load demanded, in hundredths of the width."""

    length: float
    low: float
    high: float
    demanded: float


@dataclass(frozen=True)
class Cell:
    """One layout under one load; ``load_n`` is what a page sorts and compares by."""

    load_n: float
    first_yield: str
    ratio: str
    meets: bool
    leads: bool
    change: str
    bar: Bar


@dataclass(frozen=True)
class Row:
    """One layout: ``number`` is its place in the study."""

    number: int
    name: str
    baseline: bool
    ribs: str
    mass: str
    mass_kg: float
    weld: str
    weld_mm: float
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Base:
    """What first yield is set against under one load: its size in words, and what it is called."""

    size: str
    called: str
    short: str


@dataclass(frozen=True)
class Card:
    """Who leads under one load, in a few words; ``level`` are those too close to tell."""

    load: str
    base: Base
    strongest: str
    first_yield: str
    ratio: str
    meets: bool
    level: str
    for_mass: str
    short: str


@dataclass(frozen=True)
class Overview:
    """What stands at the top of the report. ``warnings`` come before all else."""

    headline: str
    cards: tuple[Card, ...]
    warnings: tuple[str, ...]
    loads: tuple[tuple[str, Base], ...]
    rows: tuple[Row, ...]


def overview(comparison: Comparison) -> Overview:
    """The top of the report, from a comparison that may hold no result at all."""
    said = verdicts(comparison)
    if not comparison.results:
        return Overview(said[0], (), (), (), ())
    count = len(comparison.loads)
    return Overview(
        headline=_headline(comparison),
        cards=tuple(_card(comparison, index) for index in range(count)),
        warnings=tuple(said[count:]),
        loads=tuple((load.name, _base(comparison, load)) for load in comparison.loads),
        rows=tuple(
            _row(comparison, number, row) for number, row in enumerate(comparison.results, start=1)
        ),
    )


def _headline(comparison: Comparison) -> str:
    """Who reaches every load demanded, in one sentence."""
    rows = comparison.results
    good = [row.name for row in rows if all(map(_reaches, row.cases))]
    every = "the load" if len(comparison.loads) == 1 else "every load"
    if not good:
        return f"No layout reaches {every} you demand before it yields."
    if len(good) == len(rows):
        who = {1: "The layout reaches", 2: "Both layouts reach"}.get(
            len(rows), f"All {len(rows)} layouts reach"
        )
        return f"{who} {every} you demand before yielding starts."
    verb = "reaches" if len(good) == 1 else "reach"
    return (
        f"{len(good)} of {len(rows)} layouts {verb} {every} you demand before yielding starts: "
        f"{', '.join(good)}."
    )


def _card(comparison: Comparison, index: int) -> Card:
    load, found = comparison.loads[index], leading(comparison, index)
    case = found.strongest.cases[index]
    short = [row for row in comparison.results if not _reaches(row.cases[index])]
    count, some = len(comparison.results), case.starts.load_n > 0.0
    return Card(
        load=load.name,
        base=_base(comparison, load),
        strongest=found.strongest.name if some else "none",
        first_yield=both_yields(comparison.units, case),
        ratio=f"{case.ratio:.2f} ×",
        meets=_reaches(case),
        level=_named(found.level, count - 1, f"all {count - 1} others") if some else "",
        for_mass=_for_mass(comparison, index) if some else "",
        short=_named(short, count, f"all {count} layouts"),
    )


def _base(comparison: Comparison, load: LoadCase) -> Base:
    size = comparison.units.show_force(load.demanded_n)
    if isinstance(load, ClampCase):
        return Base(f"the U-bolts press with {size}", "the clamp force", "clamp force")
    return Base(f"you demand {size}", "the load you demand", "demand")


def _named(rows: Sequence[LayoutResult], of: int, every: str) -> str:
    """The rows by name, or ``every`` where they are all of several."""
    return every if len(rows) == of > 1 else ", ".join(row.name for row in rows)


def _for_mass(comparison: Comparison, index: int) -> str:
    row = leading(comparison, index).for_mass
    return f"{row.name} ({per_mass(comparison, index, row)})"


def _reaches(case: CaseResult) -> bool:
    """Whether yielding starts past the load demanded, on stiff seats too where those are known."""
    governing = case.stiff.governing if case.stiff else None
    lowest_n = min(case.starts.load_n, governing.starts.load_n if governing else math.inf)
    return lowest_n >= case.case.demanded_n


def _row(comparison: Comparison, number: int, row: LayoutResult) -> Row:
    units = comparison.units
    return Row(
        number=number,
        name=row.name,
        baseline=row.baseline,
        ribs=row.sentence,
        mass=units.show_mass(row.mass_kg),
        mass_kg=row.mass_kg,
        weld=units.show_length(row.weld_length_mm),
        weld_mm=row.weld_length_mm,
        cells=tuple(_cell(comparison, row, index) for index in range(len(comparison.loads))),
    )


def _cell(comparison: Comparison, row: LayoutResult, index: int) -> Cell:
    case = row.cases[index]
    return Cell(
        load_n=case.starts.load_n,
        first_yield=both_yields(comparison.units, case),
        ratio=f"{case.ratio:.2f} ×",
        meets=_reaches(case),
        leads=row is leading(comparison, index).strongest and case.starts.load_n > 0.0,
        change=change_in_words(comparison, row, index),
        bar=_bar(comparison, case, index),
    )


def _bar(comparison: Comparison, case: CaseResult, index: int) -> Bar:
    """Lengths on the one scale that all layouts share under a load."""
    every = [row.cases[index] for row in comparison.results]
    longest_n = max(
        case.case.demanded_n,
        *(one.starts.load_n * (1.0 + one.bands.starts) for one in every),
    )
    hundredth = longest_n * _HEADROOM / 100.0
    load_n, band = case.starts.load_n, case.bands.starts
    return Bar(
        length=round(load_n / hundredth, 2),
        low=round(load_n * (1.0 - band) / hundredth, 2),
        high=round(load_n * (1.0 + band) / hundredth, 2),
        demanded=round(case.case.demanded_n / hundredth, 2),
    )
