"""At which load yielding may be expected to show on the skin, from an elastic solution alone.

Yielding shows where it has spread over a patch of skin that can be seen. Before that, stress has
been shed from the peaks at welds and corners to the steel round them, so that neither the peak nor
its neighbourhood says when. Two averages say it roughly, each over the patch it takes:

- the stress tensor averaged over a ball of half the local thickness, within the part, round each
  point of the skin: when that is at yield over the whole patch, the wall has yielded right through;
- the stress on the skin itself, where a plate bends: there a plastic strain of 0.05 % takes the
  moment that a rectangular section carries with it, over its elastic one. Bending beside a joint
  fades within a thickness or two, so twice the patch must be so stressed.

Load that is shed further, from one wall to another, they miss: loads followed on yielding steel
have been 0.78 to 1.12 of this. So it is a first guess, which ``fea.redistribution`` betters; it
stands as it is only for loads on top of a clamp and between stiff seats.
"""

from dataclasses import dataclass

import numpy as np

from fea.averaging import averaged_stress, sorted_in_cells
from fea.elasticity import von_mises_mpa
from fea.folding import kept_facets
from fea.mesh import Bools, Floats
from fea.model import Model
from fea.patches import PATCH_MM2, Neighbours, covering, neighbours
from fea.steel import Steel

BALL_SHARE = 0.5
BENDING_PATCHES = 2.0
SHOWN_STRAIN = 5e-4

_DIVISIONS = 3


@dataclass(frozen=True)
class Showing:
    """Where yielding shows first, under the load solved for.

    utilisation is the inverse of what the load may grow by; radius_mm that of a disc as large as
    the patch; over_half and over_double are the utilisation of patches of half and twice that
    radius.
    """

    utilisation: float
    part: str
    point_mm: tuple[float, float, float]
    radius_mm: float
    over_half: float
    over_double: float


def showing(
    model: Model, at_vertices_mpa: Floats, seen: Bools, even_axes: tuple[int, ...] = ()
) -> Showing:
    """Judge stress (m, 4, 6) at the tetrahedra's vertices by the skin seen (f,).

    even_axes are those across which mirrors leave the stress as it is.
    """
    near = neighbours(model.mesh)
    through = _through(model, at_vertices_mpa, seen, even_axes)
    bent = _on_skin(model, at_vertices_mpa)
    level, facet = _covered(near, through, bent, seen, 1.0)
    half, double = (_covered(near, through, bent, seen, share)[0] for share in (0.25, 4.0))
    mesh = model.mesh
    x, y, z = (float(c) for c in mesh.points_mm[mesh.skin_facets[facet]].mean(axis=0))
    part = mesh.parts[mesh.part_of_tet[mesh.skin_tet[facet]]].name
    return Showing(level, part, (x, y, z), float(np.sqrt(PATCH_MM2 / np.pi)), half, double)


def _covered(
    near: Neighbours, through: Floats, bent: Floats, seen: Bools, share: float
) -> tuple[float, int]:
    """The higher level of the two over ``share`` of their patches, and a facet in its midst."""
    return max(
        covering(near, through, seen, share * PATCH_MM2),
        covering(near, bent, seen, share * BENDING_PATCHES * PATCH_MM2),
    )


def _through(
    model: Model, at_vertices_mpa: Floats, seen: Bools, even_axes: tuple[int, ...]
) -> Floats:
    """(f,) utilisation by the ball round each facet seen; zero elsewhere."""
    mesh = model.mesh
    kept = mesh.kept_tets(even_axes)[mesh.skin_tet] & seen
    owner = mesh.part_of_tet[mesh.skin_tet]
    middles = mesh.points_mm[mesh.skin_facets].mean(axis=1)
    samples, found = _samples(), np.zeros(len(owner))
    for index, part in enumerate(mesh.parts):
        mine, inside = (owner == index) & kept, mesh.part_of_tet == index
        if not mine.any():
            continue
        cells = sorted_in_cells(
            mesh.points_mm[mesh.tets[inside]],
            mesh.tet_volumes_mm3[inside],
            BALL_SHARE * part.thickness_mm,
        )
        mean = averaged_stress(cells, at_vertices_mpa[inside][cells.order], middles[mine], samples)
        found[mine] = von_mises_mpa(mean) / model.steels[index].yield_mpa
    if even_axes:
        found = np.where(seen, found[kept_facets(mesh, even_axes)], 0.0)
    return found


def _on_skin(model: Model, at_vertices_mpa: Floats) -> Floats:
    """(f,) mean stress of each facet over that at which a bent plate shows."""
    mesh = model.mesh
    tets = mesh.tets[mesh.skin_tet]
    corner = (tets[:, None, :] == mesh.skin_facets[:, :, None]).argmax(axis=2)
    mean = at_vertices_mpa[mesh.skin_tet[:, None], corner].mean(axis=1)
    limit = np.array([steel.yield_mpa * bending_reserve(steel) for steel in model.steels])
    return np.asarray(von_mises_mpa(mean) / limit[mesh.part_of_tet[mesh.skin_tet]])


def bending_reserve(steel: Steel) -> float:
    """Moment at which a plate's skin has 0.05 % plastic strain, over the moment of first yield.

    3/2 − c²/2 for a rectangle without hardening whose elastic core is the share c of its depth
    (Timoshenko, *Strength of Materials*, part II, plastic bending; from memory).

    >>> round(bending_reserve(Steel("S355", 355.0, 490.0)), 3)
    1.202
    """
    core = 1.0 / (1.0 + SHOWN_STRAIN * steel.e_mpa / steel.yield_mpa)
    return 1.5 - core**2 / 2.0


def _samples() -> Floats:
    """Barycentric points (q, 4) spread evenly inside a tetrahedron."""
    order = _DIVISIONS + 3
    axes = np.indices((order,) * 3).reshape(3, -1) + 1
    last = order - axes.sum(axis=0)
    inside = last >= 1
    return np.asarray(np.vstack([axes[:, inside], last[inside]]).T / order)
