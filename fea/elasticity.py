"""Strain and stress as pure functions. Tensors with six components are xx, yy, zz, xy, yz, zx."""

import numpy as np

from fea.mesh import Floats
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
    slopes = shape_slopes(np.eye(4))
    nodal = displacement_mm[model.space.tet_nodes]
    by_barycentric = np.tensordot(nodal, slopes, axes=(1, 1))  # (m, 3, 4 vertices, 4 coordinates)
    gradient = np.einsum("mivk,mkj->mvij", by_barycentric, model.gradients, optimize=True)
    return stress_mpa(gradient, model.lame_mpa[:, None, :])


def smoothed_stress_mpa(model: Model, at_vertices_mpa: Floats) -> Floats:
    """Stress (n, 6) at each mesh vertex: the mean over its tetrahedra by volume, for pictures."""
    mesh = model.mesh
    weight = mesh.tet_volumes_mm3
    flat = mesh.tets.ravel()
    total = np.bincount(flat, np.repeat(weight, 4), minlength=len(mesh.points_mm))
    shares = at_vertices_mpa.reshape(-1, 6) * np.repeat(weight, 4)[:, None]
    summed = [np.bincount(flat, shares[:, c], minlength=len(total)) for c in range(6)]
    return np.column_stack(summed) / total[:, None]
