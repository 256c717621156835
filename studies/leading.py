"""Which layout leads under a load, which are too close to tell from it, which is best for mass."""

from dataclasses import dataclass

from studies.results import Comparison, LayoutResult


@dataclass(frozen=True)
class Leading:
    """The layouts worth naming under one load; ``level`` may be as strong as the strongest."""

    strongest: LayoutResult
    level: tuple[LayoutResult, ...]
    for_mass: LayoutResult


def leading(comparison: Comparison, index: int) -> Leading:
    """Who leads under the load of this number; there must be a result."""

    def load_n(row: LayoutResult) -> float:
        return row.cases[index].starts.load_n

    def highest_n(row: LayoutResult) -> float:
        return load_n(row) * (1.0 + row.cases[index].bands.starts)

    strongest = max(comparison.results, key=load_n)
    lowest_n = load_n(strongest) * (1.0 - strongest.cases[index].bands.starts)
    level = tuple(
        row for row in comparison.results if row is not strongest and highest_n(row) > lowest_n
    )
    for_mass = max(comparison.results, key=lambda row: load_n(row) / row.mass_kg)
    return Leading(strongest, level, for_mass)


def per_mass(comparison: Comparison, index: int, row: LayoutResult) -> str:
    """First-yield load for each unit of mass, such as ``200 kN for each kg``."""
    units = comparison.units
    load = units.force_in(row.cases[index].starts.load_n) / units.mass_in(row.mass_kg)
    return f"{load:.3g} {units.force} for each {units.mass}"
