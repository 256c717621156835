"""Compute what is predicted for one layout in the press."""

from dataclasses import replace
from pathlib import Path

from fea.errors import SolveError
from geometry.block import Layout
from studies.compare import compared
from studies.loads import CrushCase
from studies.pressing.predict import from_elastic
from studies.pressing.prediction import RATED_TIMES, Prediction
from studies.results import LayoutFailure
from studies.runner import Heard
from studies.study import Study
from studies.walls import WallResult


def predicted(study: Study, layout: Layout, folder: Path, heard: Heard, fresh: bool) -> Prediction:
    """Where plain crush makes one layout yield; taken from ``folder`` when it was computed before.

    A study without a load of kind crush is given one. Raises SolveError when the layout cannot be
    computed.
    """
    loads = study.loads
    if not any(isinstance(load, CrushCase) for load in loads):
        loads = (*loads, CrushCase("Press", study.rated_load_n, RATED_TIMES))
    alone = replace(study, layouts=(layout,), loads=loads)
    (row,) = compared(alone, folder, heard, fresh).rows
    if isinstance(row, LayoutFailure):
        raise SolveError(
            f"{layout.name} could not be computed: {row.reason}", "choose another layout or mesh"
        )
    found = next(case for case in row.cases if isinstance(case.case, CrushCase))
    prediction = from_elastic(layout, found, study.setting, study.units)
    return replace(prediction, limit_reason=_thin_walls(row.walls, found.case.name, study))


def _thin_walls(walls: WallResult, case: str, study: Study) -> str:
    """That walls may buckle first, and at which load; empty where all are stocky."""
    if not walls.slender:
        return ""
    found = walls.buckling_of(case)
    if found is None:
        return "thin walls may buckle before the block yields"
    at = f"{study.units.show_force(found.load_n)} ({found.place})"
    return f"thin walls may buckle first, perfectly flat ones at {at}, real ones sooner"
