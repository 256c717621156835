"""Made-up layouts whose stress and movement are known at every point, to be shown in 3D."""

from pathlib import Path

import numpy as np
from pretend import BODY_MM, CRUSH, WRAP, YIELD_MPA, body, case_result, comparison, layout

from fea.model import Model
from studies.fields import write_field
from studies.results import Comparison

LEAN = 0.002


def turned(folder: Path, names: tuple[str, ...], tops: tuple[float, ...]) -> Comparison:
    """Layouts under two loads, with fields in ``folder``; the first is the baseline.

    Under the first load stress grows with height up to a share ``tops`` of yield, and the body
    leans by LEAN times the height; under the second both are half that, leaning the other way.
    First yield comes at 300 kN over that share under the first load, and at a fifth of it under
    the second.
    """
    model, rows = body(), []
    for number, (name, top) in enumerate(zip(names, tops, strict=True)):
        cases = []
        for load, times, part in ((CRUSH, 1.0, 1.0), (WRAP, -0.5, 0.2)):
            field_file = f"{number}-{load.name}.vtu"
            _field(model, folder / field_file, abs(times) * top, load.demand_multiple, times * LEAN)
            cases.append(
                case_result(
                    load, part * 300e3 / top, point_mm=(0.0, 40.0, 0.0), field_file=field_file
                )
            )
        rows.append(layout(name, *cases, baseline=number == 0, mass_kg=2.0 + number))
    return comparison(*rows, loads=(CRUSH, WRAP))


def _field(model: Model, path: Path, top: float, demand: float, lean: float) -> None:
    points = model.mesh.points_mm
    at_vertices = np.zeros((len(model.mesh.tets), 4, 6))
    height = points[model.mesh.tets][:, :, 2] / BODY_MM[2]
    at_vertices[:, :, 2] = -height * top * YIELD_MPA / demand
    moved = np.zeros_like(model.space.nodes_mm)
    moved[:, 0] = lean * model.space.nodes_mm[:, 2]
    path.parent.mkdir(parents=True, exist_ok=True)
    write_field(path, model, moved, at_vertices, demand)
