"""Comparisons made up for tests of what is said and drawn, with numbers chosen by hand."""

from pathlib import Path

import numpy as np

from fea.model import Model, modelled
from fea.steel import Steel
from geometry.weld_lines import WeldPlan
from studies.bands import Bands
from studies.fields import write_field
from studies.hand import HandCheck
from studies.loads import CrushCase, LoadCase, WrapCase
from studies.published.bodies import brick
from studies.results import CaseResult, Comparison, LayoutFailure, LayoutResult, YieldPoint
from studies.units import OutputUnits
from studies.walls import WallResult

CRUSH = CrushCase("Crush", 30_000.0, 10.0)
WRAP = WrapCase("Wrap forward", 30_000.0, 3.0, (35.0, 0.0))
BODY_MM = (60.0, 40.0, 30.0)
YIELD_MPA = 350.0


def case_result(
    load: LoadCase,
    starts_n: float,
    *,
    shows_n: float | None = None,
    place: str = "tube, left wall, near the top",
    point_mm: tuple[float, float, float] = (60.0, 20.0, 15.0),
    field_file: str = "",
    by_hand: tuple[HandCheck, ...] = (),
) -> CaseResult:
    """A case whose first yield comes at ``starts_n``."""
    return CaseResult(
        case=load,
        starts=YieldPoint(starts_n, place.split(",")[0], place, point_mm, 3.0, 0.12, -0.09),
        shows=YieldPoint(shows_n or 1.1 * starts_n, "tube", place, point_mm, 1.5, 0.05, -0.04),
        raw_peak_mpa=99.0,
        stiffness_n_per_mm=9.0e6,
        bands=Bands(0.03, 0.04, 0.01, (1000, 3000)),
        lift_offset_mm=25.4 if isinstance(load, WrapCase) else None,
        residual=1e-10,
        iterations=17,
        field_file=field_file,
        weld_loads=(),
        by_hand=by_hand,
    )


def layout(
    name: str,
    *cases: CaseResult,
    mass_kg: float = 2.0,
    baseline: bool = False,
    walls: WallResult | None = None,
) -> LayoutResult:
    """A layout with these cases, one body, 759 mm of weld."""
    return LayoutResult(
        name=name,
        slug="x",
        pattern="plain",
        sentence="No ribs: tube and plates only.",
        baseline=baseline,
        mass_kg=mass_kg,
        weld_length_mm=759.0,
        unknowns=1000,
        parts=("tube",),
        cases=cases,
        walls=walls or WallResult((), ()),
        weld_plan=WeldPlan((), (-75.0, -55.0, 75.0, 55.0), (-75.0, -55.0, 75.0, 55.0)),
        seconds=1.0,
    )


def comparison(
    *rows: LayoutResult | LayoutFailure,
    loads: tuple[LoadCase, ...] = (CRUSH,),
    title: str = "Risers",
    units: OutputUnits | None = None,
) -> Comparison:
    """These rows side by side."""
    return Comparison(title, units or OutputUnits(), "quick", 30_000.0, loads, rows)


def body() -> Model:
    """A box of BODY_MM in one steel."""
    return modelled(brick((4, 4, 4), BODY_MM), (Steel("test steel", YIELD_MPA, 500.0),))


def even_field(model: Model, path: Path, share: float, demand: float) -> None:
    """A field evenly squeezed along z so that ``share`` of yield is reached at ``demand``."""
    stress_mpa = share * YIELD_MPA / demand
    at_vertices = np.zeros((len(model.mesh.tets), 4, 6))
    at_vertices[:, :, 2] = -stress_mpa
    strain = np.array([0.3, 0.3, -1.0]) * stress_mpa / 210_000.0
    path.parent.mkdir(parents=True, exist_ok=True)
    write_field(path, model, model.space.nodes_mm * strain, at_vertices, demand)
