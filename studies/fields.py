"""Stress and movement of one layout under one load, as a .vtu file other programs read."""

from pathlib import Path

import meshio
import numpy as np

from fea.elasticity import smoothed_stress_mpa, von_mises_mpa
from fea.errors import PictureError
from fea.mesh import Floats
from fea.model import Model
from studies.store import whole_file


def write_field(
    path: Path, model: Model, displacement_mm: Floats, at_vertices_mpa: Floats, demand: float
) -> None:
    """Write displacement, stress tensor, von Mises stress and part at the load solved for.

    displacement_mm (N, 3), at_vertices_mpa (m, 4, 6). ``share_of_yield`` is von Mises stress over
    the part's yield at ``demand`` times that load. The file appears whole or not at all.
    """
    mesh = model.mesh
    smooth = smoothed_stress_mpa(model, at_vertices_mpa)
    yields = np.array([steel.yield_mpa for steel in model.steels])
    weakest = np.full(len(mesh.points_mm), np.inf)
    np.minimum.at(weakest, mesh.tets.ravel(), np.repeat(yields[mesh.part_of_tet], 4))
    von_mises = von_mises_mpa(smooth)
    grid = meshio.Mesh(
        mesh.points_mm,
        [("tetra", mesh.tets)],
        point_data={
            "displacement_mm": displacement_mm[model.space.vertex_node],
            "stress_mpa": smooth,
            "von_mises_mpa": von_mises,
            "share_of_yield": von_mises / weakest * demand,
        },
        cell_data={"part": [mesh.part_of_tet.astype(np.int32)]},
    )
    with whole_file(path) as half_done:
        grid.write(half_done, file_format="vtu", compression="zlib")


def read_field(path: Path) -> meshio.Mesh:
    """Read a field back; raises PictureError when the file is missing or damaged."""
    try:
        return meshio.read(path)
    except (SystemExit, Exception) as error:
        # meshio leaves the whole program on some files it cannot make sense of, and stumbles over
        # others in as many ways as they can be damaged.
        raise PictureError(
            f"{path.name} cannot be read, so its pictures were left out", "run again with --fresh"
        ) from error
