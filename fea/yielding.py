"""At which load steel first yields, from an elastic solution.

The raw peak stress at a welded corner grows with every refinement, so it is never judged. Judged is
the stress *tensor* averaged over a length the steel itself sets:

- yielding **starts** where the average over a disc of half the local thickness, within one smooth
  face of the skin, reaches yield (exact for a bar in tension and in bending), or where the ball
  below says so first, for peaks buried inside;
- yielding **shows** where the average over a ball of a quarter of the local thickness, within one
  part, reaches yield.

Both averages take what of the disc or ball lies in the face or part. Stress is linear inside each
tetrahedron, so von Mises stress, being convex, peaks at vertices: that bounds every average and
lets almost all of the block be skipped. The highest average is found to within 1 %.
"""

from dataclasses import dataclass

import numpy as np

from fea.averaging import Cells, averaged_stress, near, sorted_in_cells
from fea.elasticity import von_mises_mpa
from fea.mesh import Floats, Ints
from fea.model import Model

DISC_SHARE = 0.5
BALL_SHARE = 0.25

_LOOK = 4.0
_GLANCE = 1.5
_GLANCE_ERROR = 0.9
_MOST_DIVISIONS = 6
_FIRST_LOOK = 24
_CLOSE_ENOUGH = 1.01


@dataclass(frozen=True)
class Yielding:
    """Where an average is highest against yield, under the load solved for.

    utilisation is averaged von Mises stress over yield: the load may grow by its inverse.
    length_mm is the radius averaged over; over_half and over_double are the utilisation at the
    same place when averaged over half and over twice that length.
    """

    utilisation: float
    stress_mpa: float
    part: str
    point_mm: tuple[float, float, float]
    length_mm: float
    over_half: float
    over_double: float


@dataclass(frozen=True)
class Strength:
    """The two elastic yield measures of one load case, and the raw peak as what it is."""

    starts: Yielding
    shows: Yielding
    raw_peak_mpa: float


@dataclass(frozen=True)
class _Group:
    """Simplices averaged over together (a face's facets, a part's tetrahedra) and how."""

    simplices: Ints
    stress_mpa: Floats
    measure: Floats
    radius_mm: float
    yield_mpa: float
    part: str


def strength(
    model: Model,
    at_vertices_mpa: Floats,
    disc_share: float = DISC_SHARE,
    ball_share: float = BALL_SHARE,
) -> Strength:
    """Judge a load case by its stress (m, 4, 6) at the tetrahedra's vertices."""
    raw = von_mises_mpa(at_vertices_mpa)
    shows = _highest(model, _balls(model, at_vertices_mpa, ball_share))
    starts = _highest(model, _discs(model, at_vertices_mpa, disc_share), shows)
    return Strength(starts, shows, float(raw.max()))


def _discs(model: Model, at_vertices_mpa: Floats, share: float) -> list[_Group]:
    mesh = model.mesh
    tets = mesh.tets[mesh.skin_tet]
    corner = (tets[:, None, :] == mesh.skin_facets[:, :, None]).argmax(axis=2)
    stress = at_vertices_mpa[mesh.skin_tet[:, None], corner]
    order = np.argsort(mesh.face_of_skin, kind="stable")
    ends = np.cumsum(np.bincount(mesh.face_of_skin, minlength=len(mesh.faces)))
    groups = []
    for face, mine in zip(mesh.faces, np.split(order, ends[:-1]), strict=True):
        part = mesh.part_index(face.part)
        groups.append(
            _Group(
                mesh.skin_facets[mine],
                stress[mine],
                mesh.facet_areas_mm2[mine],
                share * mesh.parts[part].thickness_mm,
                model.steels[part].yield_mpa,
                face.part,
            )
        )
    return groups


def _balls(model: Model, at_vertices_mpa: Floats, share: float) -> list[_Group]:
    mesh = model.mesh
    groups = []
    for index, part in enumerate(mesh.parts):
        mine = mesh.part_of_tet == index
        groups.append(
            _Group(
                mesh.tets[mine],
                at_vertices_mpa[mine],
                mesh.tet_volumes_mm3[mine],
                share * part.thickness_mm,
                model.steels[index].yield_mpa,
                part.name,
            )
        )
    return groups


def _highest(model: Model, groups: list[_Group], best: Yielding | None = None) -> Yielding:
    """The highest utilisation over all groups, the most promising first."""
    raw = [von_mises_mpa(group.stress_mpa).max(axis=1) / group.yield_mpa for group in groups]
    for index in sorted(range(len(groups)), key=lambda i: -raw[i].max()):
        if best is not None and raw[index].max() <= best.utilisation * _CLOSE_ENOUGH:
            break
        best = _highest_in(model.mesh.points_mm, groups[index], raw[index], best)
    assert best is not None  # every mesh has parts and faces
    return best


def _highest_in(points_mm: Floats, group: _Group, raw: Floats, best: Yielding | None) -> Yielding:
    """The highest utilisation in ``group``, or ``best`` when that is higher."""
    cells = sorted_in_cells(points_mm[group.simplices], group.measure, group.radius_mm)
    stress = group.stress_mpa[cells.order]
    size = float(np.median(cells.reaches)) / group.radius_mm
    coarse, fine = (_samples(group.simplices.shape[1], size, n) for n in (_GLANCE, _LOOK))
    hottest = np.argsort(-raw, kind="stable")[:_FIRST_LOOK]
    best = _best_of(_centres(points_mm, group.simplices[hottest]), cells, stress, fine, group, best)
    # An average that beats the best so far takes in some of a hotter simplex.
    hot = (raw > best.utilisation * _CLOSE_ENOUGH)[cells.order]
    if not hot.any():
        return best
    centres = _centres(points_mm, group.simplices)
    centres = centres[near(cells, hot, centres)]
    if not len(centres):
        return best
    glance = von_mises_mpa(averaged_stress(cells, stress, centres, coarse)) / group.yield_mpa
    worth = glance >= _GLANCE_ERROR * max(float(glance.max()), best.utilisation)
    return _best_of(centres[worth], cells, stress, fine, group, best)


def _centres(points_mm: Floats, simplices: Ints) -> Floats:
    """Vertices, mid-edges and centroids of some simplices, each once."""
    first, second = np.triu_indices(simplices.shape[1], k=1)
    ends = np.sort(np.stack([simplices[:, first], simplices[:, second]]), axis=0)
    low, high = divmod(np.unique(ends[0] * len(points_mm) + ends[1]), len(points_mm))
    return np.concatenate(
        [
            points_mm[np.unique(simplices)],
            (points_mm[low] + points_mm[high]) / 2.0,
            points_mm[simplices].mean(axis=1),
        ]
    )


def _best_of(
    centres: Floats,
    cells: Cells,
    stress_mpa: Floats,
    samples: Floats,
    group: _Group,
    best: Yielding | None,
) -> Yielding:
    """The best of ``centres`` and ``best``."""
    if best is not None and not len(centres):
        return best
    mean_mpa = von_mises_mpa(averaged_stress(cells, stress_mpa, centres, samples))
    top = int(np.argmax(mean_mpa))
    utilisation = float(mean_mpa[top]) / group.yield_mpa
    if best is not None and utilisation <= best.utilisation:
        return best
    x, y, z = (float(c) for c in centres[top])
    half, double = (_at(cells, stress_mpa, centres[top], group, share) for share in (0.5, 2.0))
    return Yielding(
        utilisation,
        float(mean_mpa[top]),
        group.part,
        (x, y, z),
        group.radius_mm,
        half,
        double,
    )


def _at(cells: Cells, stress_mpa: Floats, centre: Floats, group: _Group, share: float) -> float:
    """Utilisation at one place, averaged over ``share`` of the group's own length."""
    radius_mm = share * group.radius_mm
    away = np.linalg.norm(cells.middles - centre, axis=1)
    close = away < radius_mm + cells.reaches
    local = sorted_in_cells(cells.corners[close], cells.measure[close], radius_mm)
    samples = _samples(group.simplices.shape[1], float(np.median(local.reaches)) / radius_mm, _LOOK)
    mean = averaged_stress(local, stress_mpa[close][local.order], centre[None], samples)
    return float(von_mises_mpa(mean)[0]) / group.yield_mpa


def _samples(width: int, size: float, per_radius: float) -> Floats:
    """Barycentric points (q, width) spread evenly inside a triangle or tetrahedron.

    The interior points of a regular lattice, each standing for an equal share; ``size`` is the
    simplices' over the radius, ``per_radius`` how many steps of the lattice a radius should hold.
    """
    divisions = int(min(max(np.ceil(per_radius * size), 1.0), _MOST_DIVISIONS))
    order = divisions + width - 1
    axes = np.indices((order,) * (width - 1)).reshape(width - 1, -1) + 1
    last = order - axes.sum(axis=0)
    inside = last >= 1
    lattice = np.vstack([axes[:, inside], last[inside]]).T / order
    return np.asarray(lattice)
