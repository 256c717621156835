"""At which load steel first yields, from an elastic solution.

The raw peak stress at a welded corner grows with every refinement, so it is never judged. Judged is
the stress *tensor* averaged over a length the steel itself sets:

- yielding **starts** where the average over a disc of half the local thickness, within one smooth
  face of the skin, reaches yield (exact for a bar in tension and in bending), or where that over a
  ball of a quarter of it says so first, for peaks buried inside;
- yielding **shows** where it has spread over a patch of skin that can be seen: here as
  ``fea.showing`` expects it from elastic stress, which ``fea.redistribution`` betters.

The averages take what of the disc lies in the face, and of the ball in the steel: in the part its
middle lies in and in those grown to it by welding, each against its own yield. (A ball cut off at
the border of a part would judge the thin edge of a fillet by next to no steel.)

On a face that nothing presses on, stress is told from the strain along the face alone, as a strain
gauge tells it: what push and shear on the face the elements leave over is taken away, since there
is none. By the divergence theorem the average strain along a face comes from the movements round
the disc's rim, which elements know far better than the stress in their outermost layer, above all
beside a sharp inner corner. (Stress recovered with the boundary's own traction: Wiberg, Abdulwahab
& Ziukas, *Int. J. Numer. Meth. Eng.* 37, 1994, from memory.)
"""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from fea.elasticity import von_mises_mpa
from fea.mesh import Bools, Floats, Ints, TaggedMesh
from fea.model import Model
from fea.searching import Group, Top, highest
from fea.showing import Showing, showing

DISC_SHARE = 0.5
BALL_SHARE = 0.25


@dataclass(frozen=True)
class Yielding:
    """Where an average is highest against yield, under the load solved for.

    utilisation is averaged von Mises stress over yield: the load may grow by its inverse.
    stress_mpa is that share of the yield of ``part``, the one the middle lies in.
    length_mm is the radius averaged over, or for what shows that of a disc as large as the patch;
    over_half and over_double are the utilisation when half and twice that length is taken.
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


def strength(
    model: Model,
    at_vertices_mpa: Floats,
    free: Collection[str] = (),
    seen: Bools | None = None,
    disc_share: float = DISC_SHARE,
    ball_share: float = BALL_SHARE,
    even_axes: tuple[int, ...] = (),
) -> Strength:
    """Judge a load case by its stress (m, 4, 6) at the tetrahedra's vertices.

    ``free`` are the names of the faces that nothing presses on, seen (f,) the skin facets that can
    be looked at, all of them when not given. Where mirrors across ``even_axes`` leave the stress as
    it is, only the positive side of each is searched.
    """
    raw = von_mises_mpa(at_vertices_mpa)
    kept = model.mesh.kept_tets(even_axes)
    balls = _balls(model, at_vertices_mpa, kept, ball_share)
    discs = _discs(model, at_vertices_mpa, kept, free, disc_share)
    # Discs are quickly looked through, and leave few of the many balls to be looked at.
    on_skin = highest(model.mesh.points_mm, discs)
    inside = highest(model.mesh.points_mm, balls, on_skin.utilisation if on_skin else 0.0)
    starts = inside or on_skin
    assert starts is not None  # no stress at all
    everywhere = np.ones(len(model.mesh.skin_facets), dtype=bool)
    found = showing(model, at_vertices_mpa, everywhere if seen is None else seen, even_axes)
    shows = _shown(model, found, starts.utilisation)
    return Strength(_yielding(model, starts), shows, float(raw.max()))


def _shown(model: Model, found: Showing, starts: float) -> Yielding:
    """What shows, never before yielding starts."""
    less = min(1.0, starts / found.utilisation)
    return Yielding(
        less * found.utilisation,
        less * found.utilisation * model.steels[model.mesh.part_index(found.part)].yield_mpa,
        found.part,
        found.point_mm,
        found.radius_mm,
        less * found.over_half,
        less * found.over_double,
    )


def _yielding(model: Model, top: Top) -> Yielding:
    group = top.group
    return Yielding(
        top.utilisation,
        top.utilisation * model.steels[model.mesh.part_index(group.part)].yield_mpa,
        group.part,
        top.point_mm,
        group.radius_mm,
        top.over_half,
        top.over_double,
    )


def _discs(
    model: Model, at_vertices_mpa: Floats, kept: Bools, free: Collection[str], share: float
) -> list[Group]:
    mesh = model.mesh
    tets = mesh.tets[mesh.skin_tet]
    corner = (tets[:, None, :] == mesh.skin_facets[:, :, None]).argmax(axis=2)
    stress = at_vertices_mpa[mesh.skin_tet[:, None], corner]
    unpressed = np.array([face.name in free for face in mesh.faces])[mesh.face_of_skin]
    stress[unpressed] = _without_traction(
        stress[unpressed],
        mesh.facet_normals[unpressed],
        model.lame_mpa[mesh.skin_tet[unpressed]],
    )
    mine_first = ~kept[mesh.skin_tet]
    order = np.lexsort((mine_first, mesh.face_of_skin))
    ends = np.cumsum(np.bincount(mesh.face_of_skin, minlength=len(mesh.faces)))
    groups = []
    for face, mine in zip(mesh.faces, np.split(order, ends[:-1]), strict=True):
        part = mesh.part_index(face.part)
        groups.append(
            Group(
                mesh.skin_facets[mine],
                stress[mine] / model.steels[part].yield_mpa,
                mesh.facet_areas_mm2[mine],
                int(kept[mesh.skin_tet[mine]].sum()),
                share * mesh.parts[part].thickness_mm,
                face.part,
            )
        )
    return groups


def _without_traction(stress_mpa: Floats, normals: Floats, lame_mpa: Floats) -> Floats:
    """Stress (f, 3, 6) of facets with the strain along them kept and the traction on them gone.

    normals (f, 3), lame_mpa (f, 2). With tₙ the push on the facet, its going takes λ/(λ + 2μ) tₙ
    out of each direct stress along it.
    """
    first, second = np.array([0, 1, 2, 0, 1, 2]), np.array([0, 1, 2, 1, 2, 0])
    full = stress_mpa[..., [[0, 3, 5], [3, 1, 4], [5, 4, 2]]]
    n = normals[:, None]
    t = np.einsum("fvij,fj->fvi", full, normals)
    push = np.einsum("fvi,fi->fv", t, normals)[..., None]
    across = n[..., first] * n[..., second]
    side = (lame_mpa[:, 0] / (lame_mpa[:, 0] + 2.0 * lame_mpa[:, 1]))[:, None, None]
    taken = t[..., first] * n[..., second] + n[..., first] * t[..., second] - push * across
    return np.asarray(stress_mpa - taken - side * push * ((first == second) - across))


def _balls(model: Model, at_vertices_mpa: Floats, kept: Bools, share: float) -> list[Group]:
    mesh = model.mesh
    stress = at_vertices_mpa / _yields_mpa(model)[mesh.part_of_tet, None, None]
    low, high = mesh.tet_box_mm
    groups = []
    for index, part in enumerate(mesh.parts):
        mine = (mesh.part_of_tet == index) & kept
        if not mine.any():
            continue
        radius_mm = share * part.thickness_mm
        least, most = low[mine].min(axis=0) - radius_mm, high[mine].max(axis=0) + radius_mm
        about = np.flatnonzero(((high >= least) & (low <= most)).all(axis=1) & ~mine)
        grown = np.isin(mesh.part_of_tet[about], _grown_to(mesh, mine, about))
        tets = np.concatenate([np.flatnonzero(mine), about[grown]])
        groups.append(
            Group(
                mesh.tets[tets],
                stress[tets],
                mesh.tet_volumes_mm3[tets],
                int(mine.sum()),
                radius_mm,
                part.name,
            )
        )
    return groups


def _grown_to(mesh: TaggedMesh, mine: Bools, about: Ints) -> Ints:
    """The parts of tetrahedra ``about`` (a,) that share points with those ``mine`` (m,)."""
    shared = np.zeros(len(mesh.points_mm), dtype=np.bool_)
    shared[mesh.tets[mine]] = True
    return np.unique(mesh.part_of_tet[about[shared[mesh.tets[about]].any(axis=1)]])


def _yields_mpa(model: Model) -> Floats:
    return np.array([steel.yield_mpa for steel in model.steels])
