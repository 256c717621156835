"""Compute what is predicted for one layout in the press."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from fea.curve import Crushed, Effort, PressCurve
from fea.errors import MeshError, SolveError
from fea.mesh import TaggedMesh
from geometry.block import Layout
from geometry.mesher import MeshSizes
from studies.bands_words import banded
from studies.compare import compared
from studies.loads import CrushCase
from studies.pressing.crush import COARSER, curve_sizes
from studies.pressing.flakes import Flakes, crush_key, flakes_of, keep_crush, kept_crush
from studies.pressing.gauge import NoseSize
from studies.pressing.predict import from_curve, from_elastic
from studies.pressing.prediction import RATED_TIMES, Prediction
from studies.results import LayoutFailure
from studies.runner import Heard
from studies.study import Study
from studies.walls import WallResult

Crusher = Callable[
    [Layout, CrushCase, NoseSize, MeshSizes, Callable[[str], None]], tuple[TaggedMesh, Crushed]
]
"""Crushes a layout as a case says under a ram's nose, on a mesh, and tells how far it is."""


@dataclass(frozen=True, eq=False)
class Computed:
    """A prediction, and with a press curve the yielded skin along it."""

    prediction: Prediction
    flakes: Flakes | None


def predicted(
    study: Study,
    layout: Layout,
    folder: Path,
    heard: Heard,
    fresh: bool,
    crusher: Crusher | None = None,
) -> Computed:
    """What plain crush does to one layout; taken from ``folder`` when it was computed before.

    Without a ``crusher`` only the elastic loads are known. A study without a load of kind crush is
    given one. Raises SolveError when the layout cannot be computed.
    """
    alone = with_crush(study, layout)
    (row,) = compared(alone, folder, heard, fresh).rows
    if isinstance(row, LayoutFailure):
        raise SolveError(
            f"{layout.name} could not be computed: {row.reason}", "choose another layout or mesh"
        )
    crush = crush_of(alone)
    found = next(case for case in row.cases if case.case == crush)
    thin = _thin_walls(row.walls, crush.name, study)
    if crusher is None:
        prediction = from_elastic(layout, found, study.setting, study.units)
        return Computed(replace(prediction, limit_reason=thin), None)
    curve, coarse, flakes = curves(study, layout, folder, heard, fresh, crusher)
    prediction = from_curve(layout, curve, coarse, study.setting, study.units)
    reasons = "; ".join(one for one in (thin, prediction.limit_reason) if one)
    return Computed(replace(prediction, limit_reason=reasons), flakes)


def with_crush(study: Study, layout: Layout) -> Study:
    """The study of one layout, with a load of kind crush if it had none."""
    loads = study.loads
    if not any(isinstance(load, CrushCase) for load in loads):
        wedge_deg = abs(layout.block.taper_deg)
        press = CrushCase("Press", study.rated_load_n, RATED_TIMES, wedge_deg=wedge_deg)
        loads = (*loads, press)
    return replace(study, layouts=(layout,), loads=loads)


def crush_of(study: Study) -> CrushCase:
    """The first load of kind crush, which there must be."""
    return next(load for load in study.loads if isinstance(load, CrushCase))


def curves(
    study: Study, layout: Layout, folder: Path, heard: Heard, fresh: bool, crusher: Crusher
) -> tuple[PressCurve, PressCurve | None, Flakes]:
    """The press curve of a layout, that on a coarser mesh, and the yielded skin.

    Taken from ``folder`` when they were computed before, else kept there. Raises MeshError or
    SolveError when there is no curve.
    """
    nose_mm = study.press.nose_mm if study.press else None
    crush = crush_of(with_crush(study, layout))
    asked = _Asked(crusher, layout, crush, nose_mm, folder / "store", fresh, heard)
    sizes = curve_sizes(study.setting)
    curve, flakes = asked.crushed(sizes, "")
    try:
        coarse, _ = asked.crushed(sizes.refined(1.0 / COARSER), "on a coarser mesh, ")
    except (MeshError, SolveError) as error:
        heard(layout.name, f"no band from a coarser mesh: {error}")
        coarse = None
    return curve, coarse, flakes


@dataclass(frozen=True)
class _Asked:
    """A crush to be had from the store, or computed and kept there."""

    crusher: Crusher
    layout: Layout
    case: CrushCase
    nose_mm: NoseSize
    store: Path
    fresh: bool
    heard: Heard

    def crushed(self, sizes: MeshSizes, words: str) -> tuple[PressCurve, Flakes]:
        key = crush_key(self.layout.block, self.case.friction, self.nose_mm, sizes)
        kept = None if self.fresh else kept_crush(self.store, key)
        if kept is None:
            mesh, found = self.crusher(
                self.layout,
                self.case,
                self.nose_mm,
                sizes,
                lambda what: self.heard(self.layout.name, words + what),
            )
            kept = found.curve, flakes_of(mesh, found)
            keep_crush(self.store, key, *kept)
            self.heard(self.layout.name, words + _effort_words(found.curve.effort))
        return kept


def _effort_words(effort: Effort) -> str:
    """What a curve took, for those who want to know why it takes so long."""
    return (
        f"crushed in {effort.seconds:.0f} s: {effort.steps} load steps, {effort.newton} rounds of "
        f"Newton's method, {effort.linear} of conjugate gradients"
    )


def _thin_walls(walls: WallResult, case: str, study: Study) -> str:
    """That walls may buckle first, and at which load; empty where all are stocky."""
    if not walls.slender:
        return ""
    found = walls.buckling_of(case)
    if found is None:
        return "thin walls may buckle before the block yields"
    at = f"{banded(study.units.show_force(found.load_n), found.band)} ({found.place})"
    return f"thin walls may buckle first, perfectly flat ones at {at}, real ones sooner"
