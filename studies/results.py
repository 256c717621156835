"""What a comparison found, complete the moment it exists."""

from dataclasses import dataclass

from fea.errors import InputError
from fea.seams import SeamLoad
from geometry.weld_lines import WeldPlan
from studies.bands import Bands
from studies.clamping.u_bolts import ClampFinding
from studies.hand import HandCheck
from studies.loads import LoadCase
from studies.seen import PastYield
from studies.stiff_results import StiffSeats
from studies.units import OutputUnits
from studies.walls import WallResult
from studies.welding.rules import USUAL_RULES, WeldRules
from studies.yield_point import YieldPoint as YieldPoint


@dataclass(frozen=True)
class CaseResult:
    """One layout under one load.

    starts is first yield: where yielding starts; shows is where it is expected to be seen.
    raw_peak_mpa is the highest stress anywhere under the case's load: it grows with every
    refinement and is given only as what it is. lift_offset_mm is the offset, in the load's own
    direction, at which a soft seat starts to lift. stiffness_n_per_mm is load over the approach of
    the two seats (between platens as they move, under soft seats weighed by the pressure). bands
    say how far off the mesh may have left these figures, and the estimate of shows. weld_loads is
    what crosses each line of the layout's weld plan at the load demanded. clamp is there for a load
    on the clamped block: then first yield is the load on top of the U-bolts' clamp. stiff is there
    when the study asks for stiff seats, too. past is there when the load was followed past first
    yield. field_file is empty where stress and movement were
    not asked for.
    """

    case: LoadCase
    starts: YieldPoint
    shows: YieldPoint
    raw_peak_mpa: float
    stiffness_n_per_mm: float
    bands: Bands
    lift_offset_mm: float | None
    residual: float
    iterations: int
    field_file: str
    weld_loads: tuple[SeamLoad, ...]
    by_hand: tuple[HandCheck, ...]
    clamp: ClampFinding | None = None
    stiff: StiffSeats | None = None
    past: PastYield | None = None

    @property
    def shown_n(self) -> float:
        """The load at which yielding begins to show: computed on yielding steel, else estimated."""
        return self.past.begins.load_n if self.past and self.past.begins else self.shows.load_n

    @property
    def shown_is_computed(self) -> bool:
        """Whether ``shown_n`` was computed on yielding steel."""
        return bool(self.past and self.past.begins)

    @property
    def ratio(self) -> float:
        """First-yield load over the load demanded."""
        return self.starts.load_n / self.case.demanded_n


@dataclass(frozen=True)
class LayoutResult:
    """One layout under every load."""

    name: str
    slug: str
    pattern: str
    sentence: str
    baseline: bool
    mass_kg: float
    weld_length_mm: float
    unknowns: int
    parts: tuple[str, ...]
    cases: tuple[CaseResult, ...]
    walls: WallResult
    weld_plan: WeldPlan
    seconds: float


@dataclass(frozen=True)
class LayoutFailure:
    """A layout that could not be computed, and why in one line."""

    name: str
    baseline: bool
    reason: str


@dataclass(frozen=True)
class Comparison:
    """All layouts of a study, side by side."""

    title: str
    units: OutputUnits
    setting: str
    rated_load_n: float
    loads: tuple[LoadCase, ...]
    rows: tuple[LayoutResult | LayoutFailure, ...]
    weld_rules: WeldRules = USUAL_RULES
    accuracy: float | None = None

    @property
    def results(self) -> tuple[LayoutResult, ...]:
        """The layouts that were computed."""
        return tuple(row for row in self.rows if isinstance(row, LayoutResult))

    @property
    def failures(self) -> tuple[LayoutFailure, ...]:
        """The layouts that were not."""
        return tuple(row for row in self.rows if isinstance(row, LayoutFailure))

    @property
    def baseline(self) -> LayoutResult | None:
        """The layout the others are measured against, if it was computed."""
        return next((row for row in self.results if row.baseline), None)

    def case_index(self, name: str) -> int:
        """Place of the load case called ``name``; raises InputError when there is none."""
        for index, load in enumerate(self.loads):
            if load.name == name:
                return index
        raise InputError(f"no load case is called {name!r}", "use a name from the study file")
