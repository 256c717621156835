"""Simple bodies as tagged meshes, and the supports, loads and readings that checks put on them."""

from collections.abc import Callable

import numpy as np
import skfem
from numpy.typing import NDArray

from fea.bearing import nodal_force, seat_on
from fea.elasticity import vertex_stress_mpa
from fea.mesh import Face, Floats, Ints, Part, TaggedMesh, check_mesh
from fea.model import Model
from fea.solver import Problem, Solution
from geometry.skin import faced

Bools = NDArray[np.bool_]
Chooser = Callable[[Floats], Bools]


def brick(
    divisions: tuple[int, int, int],
    size: tuple[float, float, float] = (1.0, 1.0, 1.0),
    bend: Callable[[Floats], Floats] | None = None,
    thickness_mm: float = 1.0,
    **faces: Chooser,
) -> TaggedMesh:
    """A box of tetrahedra, ``bend`` mapping its points (n, 3); each keyword names a face.

    A chooser takes the box's own coordinates (k, 3), before bending, and says which lie on it.
    """
    grid = skfem.MeshTet.init_tensor(
        *(np.linspace(0.0, s, n + 1) for s, n in zip(size, divisions, strict=True))
    )
    flat = grid.p.T.copy()
    points = flat if bend is None else bend(flat)
    return tagged(points, grid.t.T.astype(np.int64), flat, thickness_mm, **faces)


def tagged(
    points: Floats, tets: Ints, flat: Floats, thickness_mm: float = 1.0, **faces: Chooser
) -> TaggedMesh:
    """One part of given tetrahedra, its skin sorted into the named faces and ``rest``."""
    skin = faced(points, tets, np.zeros(len(tets), dtype=np.int64), (Part("body", 1.0, 1.0),), {})
    label = np.zeros(len(skin.skin_facets), dtype=np.int64)
    names = ["rest"]
    for name, chosen in faces.items():
        label[chosen(flat)[skin.skin_facets].all(axis=1)] = len(names)
        names.append(name)
    used, label = np.unique(label, return_inverse=True)
    volume = float(skin.tet_volumes_mm3.sum())
    mesh = TaggedMesh(
        points,
        skin.tets,
        skin.part_of_tet,
        (Part("body", thickness_mm, volume),),
        skin.skin_facets,
        skin.skin_tet,
        label.astype(np.int64),
        tuple(Face(names[i], "body") for i in used),
    )
    check_mesh(mesh)
    return mesh


def held_where(model: Model, chosen: Bools, directions: tuple[int, ...]) -> Bools:
    """(N, 3) mask holding ``directions`` at the nodes ``chosen`` (N,)."""
    held = np.zeros(model.space.nodes_mm.shape, dtype=bool)
    for direction in directions:
        held[chosen, direction] = True
    return held


def traction_force(model: Model, face: str, traction: Callable[[Floats], Floats]) -> Floats:
    """(N, 3) nodal forces of a traction given at points (f, q, 3) → (f, q, 3)."""
    seat = seat_on(model, face)
    where = np.einsum("fqa,fad->fqd", seat.values, model.space.nodes_mm[seat.nodes])
    return nodal_force(model, seat, traction(where))


def problem(model: Model, held: Bools, force: Floats, moved: Floats | None = None) -> Problem:
    """A problem with no travel unless given."""
    still = np.zeros_like(model.space.nodes_mm)
    return Problem("case", held, still if moved is None else moved, force)


def stress_at(model: Model, solution: Solution, point: tuple[float, float, float]) -> Floats:
    """Stress (6,) at the mesh vertex nearest ``point``: mean of its tetrahedra's own values."""
    stress = vertex_stress_mpa(model, solution.displacement_mm)
    vertex = int(np.argmin(np.linalg.norm(model.mesh.points_mm - np.array(point), axis=1)))
    return np.asarray(stress[model.mesh.tets == vertex].mean(axis=0))


def near(points: Floats, axis: int, value: float, tolerance: float = 1e-9) -> Bools:
    """Which points lie at ``value`` along ``axis``."""
    return np.abs(points[:, axis] - value) < tolerance
