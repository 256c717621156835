"""What a sweep found, complete the moment it exists, and which designs are best for their mass."""

from dataclasses import dataclass

from studies.units import OutputUnits


@dataclass(frozen=True)
class FoundCase:
    """A design under one load."""

    load_name: str
    first_yield_n: float
    demanded_n: float
    shows_n: float
    place: str
    stiffness_n_per_mm: float

    @property
    def ratio(self) -> float:
        """First-yield load over the load demanded."""
        return self.first_yield_n / self.demanded_n


@dataclass(frozen=True)
class FoundDesign:
    """A design that was computed; ``values`` as text, one for each varied quantity."""

    number: int
    layout: str
    values: tuple[str, ...]
    mass_kg: float
    weld_length_mm: float
    cases: tuple[FoundCase, ...]


@dataclass(frozen=True)
class LeftOut:
    """A design with no result, and why; ``refused`` when it cannot be built."""

    number: int
    layout: str
    values: tuple[str, ...]
    reason: str
    refused: bool


@dataclass(frozen=True)
class Sweep:
    """All designs of a sweep, by number."""

    title: str
    units: OutputUnits
    headings: tuple[str, ...]
    load_names: tuple[str, ...]
    rows: tuple[FoundDesign | LeftOut, ...]

    @property
    def designs(self) -> tuple[FoundDesign, ...]:
        """Those that were computed."""
        return tuple(row for row in self.rows if isinstance(row, FoundDesign))

    @property
    def left_out(self) -> tuple[LeftOut, ...]:
        """Those that were not."""
        return tuple(row for row in self.rows if isinstance(row, LeftOut))

    def best_for_mass(self, index: int) -> tuple[FoundDesign, ...]:
        """The designs than which none is both lighter and stronger under load ``index``.

        Lightest first. Of two equally heavy the stronger counts, of two equally strong the lighter.
        """
        by_mass = sorted(
            self.designs, key=lambda one: (one.mass_kg, -one.cases[index].first_yield_n)
        )
        best: list[FoundDesign] = []
        for one in by_mass:
            if not best or _stronger(one, best[-1], index) or _alike(one, best[-1], index):
                best.append(one)
        return tuple(best)


def _stronger(one: FoundDesign, other: FoundDesign, index: int) -> bool:
    return one.cases[index].first_yield_n > other.cases[index].first_yield_n


def _alike(one: FoundDesign, other: FoundDesign, index: int) -> bool:
    same = one.cases[index].first_yield_n == other.cases[index].first_yield_n
    return same and one.mass_kg == other.mass_kg
