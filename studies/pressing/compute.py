"""Compute what is predicted for one layout in the press."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from fea.curve import Crushed
from fea.errors import SolveError
from fea.mesh import TaggedMesh
from geometry.block import Layout
from geometry.mesher import Setting
from studies.compare import compared
from studies.loads import CrushCase
from studies.pressing.flakes import Flakes, crush_key, flakes_of, keep_crush, kept_crush
from studies.pressing.gauge import NoseSize
from studies.pressing.predict import from_curve, from_elastic
from studies.pressing.prediction import RATED_TIMES, Prediction
from studies.results import LayoutFailure
from studies.runner import Heard
from studies.study import Study
from studies.walls import WallResult

Crusher = Callable[
    [Layout, CrushCase, NoseSize, Setting, Callable[[str], None]], tuple[TaggedMesh, Crushed]
]
"""Crushes a layout as a case says under a ram's nose, on the mesh of a setting, and tells how far
it is."""


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
    loads = study.loads
    if not any(isinstance(load, CrushCase) for load in loads):
        wedge_deg = abs(layout.block.taper_deg)
        press = CrushCase("Press", study.rated_load_n, RATED_TIMES, wedge_deg=wedge_deg)
        loads = (*loads, press)
    alone = replace(study, layouts=(layout,), loads=loads)
    (row,) = compared(alone, folder, heard, fresh).rows
    if isinstance(row, LayoutFailure):
        raise SolveError(
            f"{layout.name} could not be computed: {row.reason}", "choose another layout or mesh"
        )
    crush = next(load for load in loads if isinstance(load, CrushCase))
    found = next(case for case in row.cases if case.case == crush)
    thin = _thin_walls(row.walls, crush.name, study)
    if crusher is None:
        prediction = from_elastic(layout, found, study.setting, study.units)
        return Computed(replace(prediction, limit_reason=thin), None)
    nose_mm = study.press.nose_mm if study.press else None
    key = crush_key(layout.block, crush.friction, nose_mm, study.setting)
    kept = None if fresh else kept_crush(folder / "store", key)
    if kept is None:
        mesh, crushed = crusher(
            layout, crush, nose_mm, study.setting, lambda what: heard(layout.name, what)
        )
        kept = crushed.curve, flakes_of(mesh, crushed)
        keep_crush(folder / "store", key, *kept)
    curve, flakes = kept
    prediction = from_curve(layout, curve, study.setting, study.units)
    reasons = "; ".join(one for one in (thin, prediction.limit_reason) if one)
    return Computed(replace(prediction, limit_reason=reasons), flakes)


def _thin_walls(walls: WallResult, case: str, study: Study) -> str:
    """That walls may buckle first, and at which load; empty where all are stocky."""
    if not walls.slender:
        return ""
    found = walls.buckling_of(case)
    if found is None:
        return "thin walls may buckle before the block yields"
    at = f"{study.units.show_force(found.load_n)} ({found.place})"
    return f"thin walls may buckle first, perfectly flat ones at {at}, real ones sooner"
