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
from scipy.spatial import cKDTree

from fea.averaging import averaged_stress
from fea.elasticity import von_mises_mpa
from fea.mesh import Floats, Ints
from fea.model import Model

DISC_SHARE = 0.5
BALL_SHARE = 0.25

_SAMPLES_PER_RADIUS = 4.0
_MOST_DIVISIONS = 6
_FIRST_LOOK = 24
_FIRST_BATCH = 64
_CLOSE_ENOUGH = 1.01


@dataclass(frozen=True)
class Yielding:
    """Where an average is highest against yield, under the load solved for.

    utilisation is averaged von Mises stress over yield: the load may grow by its inverse.
    length_mm is the radius averaged over.
    """

    utilisation: float
    stress_mpa: float
    part: str
    point_mm: tuple[float, float, float]
    length_mm: float


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
    corners = points_mm[group.simplices]
    reach = float(np.linalg.norm(corners - corners.mean(axis=1, keepdims=True), axis=2).max())
    hottest = np.argsort(-raw, kind="stable")[:_FIRST_LOOK]
    best = _best_of(_centres(corners[hottest]), corners, group, reach, best)
    hot = raw > best.utilisation * _CLOSE_ENOUGH
    if not hot.any():
        return best
    # A disc or ball that beats the best so far holds some of a hotter simplex.
    heat = cKDTree(corners[hot].mean(axis=1))
    near, _ = heat.query(corners.mean(axis=1), distance_upper_bound=group.radius_mm + 3.0 * reach)
    centres = _centres(corners[np.isfinite(near)])
    near, _ = heat.query(centres, distance_upper_bound=group.radius_mm + reach)
    return _best_of(centres[np.isfinite(near)], corners, group, reach, best)


def _centres(corners: Floats) -> Floats:
    """Vertices, mid-edges and centroids of some simplices, each once."""
    width = corners.shape[1]
    first, second = np.triu_indices(width, k=1)
    candidates = [
        corners.reshape(-1, 3),
        ((corners[:, first] + corners[:, second]) / 2.0).reshape(-1, 3),
        corners.mean(axis=1),
    ]
    return np.unique(np.round(np.concatenate(candidates), 9), axis=0)


def _best_of(
    centres: Floats, corners: Floats, group: _Group, reach: float, best: Yielding | None
) -> Yielding:
    """The best of ``centres`` and ``best``; averages are computed until no centre left can win."""
    middles = corners.mean(axis=1)
    members = cKDTree(middles).query_ball_point(centres, group.radius_mm + reach)
    counts = np.fromiter((len(m) for m in members), dtype=np.int64, count=len(members))
    starts = np.concatenate([[0], np.cumsum(counts)])
    flat = np.concatenate([np.asarray(m, dtype=np.int64) for m in members])
    reaches = np.linalg.norm(corners - middles[:, None], axis=2).max(axis=1)
    divisions = np.ceil(_SAMPLES_PER_RADIUS * np.median(reaches) / group.radius_mm)
    samples = _samples(corners.shape[1], int(min(max(divisions, 1.0), _MOST_DIVISIONS)))
    peak = von_mises_mpa(group.stress_mpa).max(axis=1)
    bound = np.maximum.reduceat(peak[flat], starts[:-1]) / group.yield_mpa
    order = np.argsort(-bound, kind="stable")
    done, batch = 0, _FIRST_BATCH
    while done < len(order):
        if best is not None and bound[order[done]] <= best.utilisation * _CLOSE_ENOUGH:
            break
        chosen = order[done : done + batch]
        means = np.zeros((len(chosen), 6))
        averaged_stress(
            centres[chosen],
            starts[chosen],
            starts[chosen + 1],
            flat,
            corners,
            middles,
            reaches,
            group.stress_mpa,
            group.measure,
            samples,
            group.radius_mm,
            means,
        )
        mean = von_mises_mpa(means)
        top = int(np.argmax(mean))
        utilisation = float(mean[top]) / group.yield_mpa
        if best is None or utilisation > best.utilisation:
            x, y, z = (float(c) for c in centres[chosen[top]])
            best = Yielding(utilisation, float(mean[top]), group.part, (x, y, z), group.radius_mm)
        done, batch = done + batch, 2 * batch
    assert best is not None  # centres is never empty
    return best


def _samples(width: int, divisions: int) -> Floats:
    """Barycentric points (q, width) spread evenly inside a triangle or tetrahedron.

    The interior points of a regular lattice, each standing for an equal share.
    """
    order = divisions + width - 1
    axes = np.indices((order,) * (width - 1)).reshape(width - 1, -1) + 1
    last = order - axes.sum(axis=0)
    inside = last >= 1
    lattice = np.vstack([axes[:, inside], last[inside]]).T / order
    return np.asarray(lattice)
