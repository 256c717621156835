"""Simple bodies for checks against published values: boxes of tetrahedra, cut and bent to shape."""

from collections.abc import Callable

import numpy as np
import skfem
from numpy.typing import NDArray

from fea.mesh import Floats, Ints, Part, TaggedMesh, check_mesh
from fea.model import Model, modelled
from fea.steel import Steel
from geometry.skin import faced


def box_model(
    steel: Steel,
    ticks: tuple[Floats, Floats, Floats],
    bend: Callable[[Floats], Floats] | None = None,
    without: Callable[[Floats], NDArray[np.bool_]] | None = None,
) -> Model:
    """One steel on a grid of tetrahedra between ``ticks`` along x, y and z.

    ``without`` says of the tetrahedra's centroids (m, 3) which to leave out; ``bend`` then maps
    the points (n, 3) to the body's shape.
    """
    grid = skfem.MeshTet.init_tensor(*ticks)
    points: Floats = grid.p.T
    tets: Ints = grid.t.T.astype(np.int64)
    if without is not None:
        tets = tets[~without(points[tets].mean(axis=1))]
        used, tets = np.unique(tets, return_inverse=True)
        points, tets = points[used], tets.reshape(-1, 4)
    points = points.copy() if bend is None else bend(points)
    whole = np.zeros(len(tets), dtype=np.int64)
    skin = faced(points, tets, whole, (Part("body", 1.0, 1.0),), {})
    mesh = TaggedMesh(
        points,
        skin.tets,
        whole,
        (Part("body", 1.0, float(skin.tet_volumes_mm3.sum())),),
        skin.skin_facets,
        skin.skin_tet,
        skin.face_of_skin,
        skin.faces,
    )
    check_mesh(mesh)
    return modelled(mesh, (steel,))


def at(model: Model, axis: int, value: float) -> NDArray[np.bool_]:
    """(N,) which nodes of ``model`` lie at ``value`` along ``axis``."""
    return np.asarray(np.abs(model.space.nodes_mm[:, axis] - value) < 1e-9)


def held(model: Model, *which: tuple[NDArray[np.bool_], int]) -> NDArray[np.bool_]:
    """(N, 3) mask that holds each choice of nodes in its direction."""
    mask = np.zeros(model.space.nodes_mm.shape, dtype=bool)
    for nodes, direction in which:
        mask[nodes, direction] = True
    return mask


def moved(model: Model, nodes: NDArray[np.bool_], direction: int, by: float) -> Floats:
    """(N, 3) a movement of some nodes in one direction."""
    movement = np.zeros_like(model.space.nodes_mm)
    movement[nodes, direction] = by
    return movement


def pressed(model: Model, nodes: NDArray[np.bool_], pressure_mpa: float) -> Floats:
    """(N, 3) nodal forces of a pressure on every facet of the skin whose six nodes are chosen.

    On a flat quadratic triangle a uniform pressure sits on the mid-edge nodes alone.
    """
    facets = np.flatnonzero(nodes[model.space.skin_nodes].all(axis=1))
    mesh = model.mesh
    push = -pressure_mpa / 3.0 * mesh.facet_areas_mm2[facets, None] * mesh.facet_normals[facets]
    force = np.zeros_like(model.space.nodes_mm)
    for corner in (3, 4, 5):
        np.add.at(force, model.space.skin_nodes[facets, corner], push)
    return force


def pressed_area_mm2(model: Model, nodes: NDArray[np.bool_]) -> float:
    """Area of the facets that ``pressed`` would press on."""
    facets = nodes[model.space.skin_nodes].all(axis=1)
    return float(model.mesh.facet_areas_mm2[facets].sum())


def graded(length: float, first: float, ratio: float) -> Floats:
    """Ticks from 0 to ``length``, the first cell about ``first`` and each next ``ratio`` larger."""
    ticks = [0.0]
    cell = first
    while ticks[-1] < length:
        ticks.append(ticks[-1] + cell)
        cell *= ratio
    return np.array(ticks) * length / ticks[-1]
