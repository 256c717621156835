"""Stress and movement of one layout under one load, as a .vtu file other programs read."""

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock

import meshio
import numpy as np

from fea.elasticity import smoothed_stress_mpa, von_mises_mpa
from fea.errors import PictureError
from fea.mesh import Floats
from fea.model import Model
from studies.whole_files import sealed, unsealed, whole_file

_SEAL = b"\n<!-- sha256 ", b" -->\n"
"""Round the digest that ends a file: other programs read over it."""


def write_field(
    path: Path, model: Model, displacement_mm: Floats, at_vertices_mpa: Floats, demand: float
) -> None:
    """Write displacement, stress tensor, von Mises stress and part at the load solved for.

    displacement_mm (N, 3), at_vertices_mpa (m, 4, 6). ``share_of_yield`` is von Mises stress over
    the part's yield at ``demand`` times that load. Numbers are in single precision, uncompressed,
    for packing them would take longer than a load takes to solve. The file appears whole or not
    at all.
    """
    mesh = model.mesh
    smooth = smoothed_stress_mpa(model, at_vertices_mpa)
    yields = np.array([steel.yield_mpa for steel in model.steels])
    weakest = np.full(len(mesh.points_mm), np.inf)
    np.minimum.at(weakest, mesh.tets.ravel(), np.repeat(yields[mesh.part_of_tet], 4))
    von_mises = von_mises_mpa(smooth)
    at_points = {
        "displacement_mm": displacement_mm[model.space.vertex_node],
        "stress_mpa": smooth,
        "von_mises_mpa": von_mises,
        "share_of_yield": von_mises / weakest * demand,
    }
    grid = meshio.Mesh(
        mesh.points_mm.astype(np.float32),
        [("tetra", mesh.tets.astype(np.int32))],
        point_data={name: values.astype(np.float32) for name, values in at_points.items()},
        cell_data={"part": [mesh.part_of_tet.astype(np.int32)]},
    )
    with whole_file(path) as half_done:
        grid.write(half_done, file_format="vtu", compression=None)
        half_done.write_bytes(sealed(half_done.read_bytes(), *_SEAL))


@dataclass(frozen=True, eq=False)
class Fields:
    """The fields in a folder, each read when first asked for and kept."""

    folder: Path
    _read: dict[str, meshio.Mesh] = field(default_factory=dict)
    _one_reads: Lock = field(default_factory=Lock)

    def read_ahead(self, file_names: Iterable[str]) -> None:
        """Read fields before they are asked for; one that cannot be read is told of then."""
        for name in file_names:
            with suppress(PictureError):
                self.named(name)

    def named(self, file_name: str) -> meshio.Mesh:
        """A field; raises PictureError when its file is missing or damaged."""
        with self._one_reads:
            if file_name not in self._read:
                self._read[file_name] = read_field(self.folder / file_name)
            return self._read[file_name]


def read_field(path: Path) -> meshio.Mesh:
    """Read a field back; raises PictureError when the file is missing or damaged."""
    try:
        if unsealed(path.read_bytes(), *_SEAL) is not None:
            return meshio.read(path)
    except OSError:
        pass
    raise PictureError(
        f"{path.name} cannot be read, so its pictures were left out", "run again with --fresh"
    )
