"""Strain and stress as pure functions. Tensors with six components are xx, yy, zz, xy, yz, zx."""

import numba
import numpy as np

from fea.compiled import compiled
from fea.mesh import Floats, Ints
from fea.model import Model
from fea.space import shape_slopes


def von_mises_mpa(stress_mpa: Floats) -> Floats:
    """Von Mises stress of (..., 6) stresses.

    >>> float(von_mises_mpa(np.array([100.0, 0, 0, 0, 0, 0])))
    100.0
    """
    xx, yy, zz, xy, yz, zx = np.moveaxis(stress_mpa, -1, 0)
    direct = (xx - yy) ** 2 + (yy - zz) ** 2 + (zz - xx) ** 2
    return np.asarray(np.sqrt(0.5 * direct + 3.0 * (xy**2 + yz**2 + zx**2)))


def stress_mpa(slopes: Floats, lame_mpa: Floats) -> Floats:
    """Hooke's law: stress (..., 6) of displacement gradients (..., 3, 3), λ and μ in (..., 2)."""
    lam, mu = lame_mpa[..., 0], lame_mpa[..., 1]
    swell = lam * np.trace(slopes, axis1=-2, axis2=-1)
    direct = [swell + 2.0 * mu * slopes[..., i, i] for i in range(3)]
    shear = [mu * (slopes[..., i, j] + slopes[..., j, i]) for i, j in ((0, 1), (1, 2), (2, 0))]
    return np.stack(direct + shear, axis=-1)


def vertex_stress_mpa(model: Model, displacement_mm: Floats) -> Floats:
    """Stress (m, 4, 6) at the four vertices of each tetrahedron, as seen from inside it.

    Strain varies linearly inside a quadratic tetrahedron, so these four values hold all of it.
    """
    stress = np.empty((len(model.mesh.tets), 4, 6))
    _vertex_stress(
        model.space.tet_nodes,
        shape_slopes(np.eye(4)),
        model.gradients,
        model.lame_mpa,
        displacement_mm,
        stress,
    )
    return stress


@compiled
def _vertex_stress(
    tet_nodes: Ints,
    slopes: Floats,
    gradients: Floats,
    lame_mpa: Floats,
    moved_mm: Floats,
    stress_mpa: Floats,
) -> None:
    """slopes (4, 10, 4): of each node's share at each vertex, by barycentric coordinate."""
    for tet in numba.prange(len(tet_nodes)):
        lam, mu = lame_mpa[tet]
        by_barycentric, slope = np.empty((4, 3)), np.empty((3, 3))
        for v in range(4):
            by_barycentric[:] = 0.0
            for a in range(10):
                for k in range(4):
                    # At a vertex most are nothing.
                    if slopes[v, a, k] != 0.0:
                        for i in range(3):
                            by_barycentric[k, i] += slopes[v, a, k] * moved_mm[tet_nodes[tet, a], i]
            slope[:] = 0.0
            for k in range(4):
                for i in range(3):
                    for j in range(3):
                        slope[i, j] += by_barycentric[k, i] * gradients[tet, k, j]
            swell = lam * (slope[0, 0] + slope[1, 1] + slope[2, 2])
            for i in range(3):
                j = (i + 1) % 3
                stress_mpa[tet, v, i] = swell + 2.0 * mu * slope[i, i]
                stress_mpa[tet, v, 3 + i] = mu * (slope[i, j] + slope[j, i])


def smoothed_stress_mpa(model: Model, at_vertices_mpa: Floats) -> Floats:
    """Stress (n, 6) at each mesh vertex: the mean over its tetrahedra by volume, for pictures."""
    mesh = model.mesh
    weight = mesh.tet_volumes_mm3
    flat = mesh.tets.ravel()
    total = np.bincount(flat, np.repeat(weight, 4), minlength=len(mesh.points_mm))
    shares = at_vertices_mpa.reshape(-1, 6) * np.repeat(weight, 4)[:, None]
    summed = [np.bincount(flat, shares[:, c], minlength=len(total)) for c in range(6)]
    return np.column_stack(summed) / total[:, None]
