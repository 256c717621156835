"""Where yielding has got to on the skin and through the thickness, step by step."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from fea.curve import Mark
from fea.elasticity import von_mises_mpa
from fea.folding import Fold
from fea.mesh import Bools, Floats, Ints, TaggedMesh
from fea.model import Model
from fea.patches import PATCH_MM2, Neighbours, linear_patches, middle_of, neighbours, patches
from fea.plasticity import Material, Response, yield_stress_mpa
from fea.space import tet_rule

FAINT, PLAIN = 5e-4, 2e-3
"""Plastic strains at which mill scale shows it faintly and plainly (common practice, no source)."""

_DEPTHS = (0.1, 0.3, 0.5, 0.7, 0.9)
_BISECTIONS = 14


@dataclass(frozen=True, eq=False)
class Skin:
    """The skin prepared for marks.

    steel may be that of the part which ``fold`` tells how to repeat; mesh and all below are those
    of the whole block.

    weights (f, 4) takes the four points behind a facet to its middle, corners (f, 3, 4) to its
    corners; corner_of (f, 3) numbers corners, the same for all facets of a face that meet; seen
    (f,) those facets that can be looked at; lines (l, 5) the points on a line through the thickness
    and line_facet (l,) the facet it starts from; disc_mm2 (f,) the area of a disc of half the local
    thickness, at most half its face.
    """

    steel: Material
    fold: Fold | None
    mesh: TaggedMesh
    weights: Floats
    corners: Floats
    corner_of: Ints
    near: Neighbours
    seen: Bools
    lines: Ints
    line_facet: Ints
    disc_mm2: Floats


@dataclass(frozen=True, eq=False)
class Reading:
    """One step: plastic strain (f,), and how far past yield skin (f,) and lines (l,) are.

    ahead (f, 3) is plastic strain at the facets' corners, but short of yield it is the negative
    strain still to go, so that it can be followed between steps.
    Past yield is stress over yield less one before, and plastic strain over the yield strain after.
    """

    strain: Floats
    ahead: Floats
    past: Floats
    through: Floats


def skin_of(
    model: Model, steel: Material, seen: Bools, fold: Fold | None = None, through: bool = True
) -> Skin:
    """Prepare the skin of a model; ``seen`` (f,) says which facets can be looked at.

    ``steel`` is the model's own, or that of the part of it which ``fold`` tells how to repeat;
    without ``through`` no lines through the thickness are sought.
    """
    mesh = model.mesh
    points, _ = tet_rule()
    tets = mesh.tets[mesh.skin_tet]
    on_facet = (tets[:, :, None] == mesh.skin_facets[:, None, :]).any(axis=2)
    to_vertices = np.linalg.inv(points)
    weights = (on_facet / 3.0) @ to_vertices
    corners = to_vertices[(tets[:, None, :] == mesh.skin_facets[:, :, None]).argmax(axis=2)]
    keys = mesh.face_of_skin[:, None] * len(mesh.points_mm) + mesh.skin_facets
    corner_of = np.unique(keys, return_inverse=True)[1].reshape(keys.shape)
    thick = np.array([part.thickness_mm for part in mesh.parts])
    owner = mesh.part_of_tet[mesh.skin_tet]
    face_mm2 = np.bincount(mesh.face_of_skin, mesh.facet_areas_mm2, minlength=len(mesh.faces))
    disc = np.minimum(np.pi * (thick[owner] / 2.0) ** 2, face_mm2[mesh.face_of_skin] / 2.0)
    near = neighbours(mesh)
    lines, line_facet = _lines(mesh, owner, thick) if through else _no_lines()
    return Skin(steel, fold, mesh, weights, corners, corner_of, near, seen, lines, line_facet, disc)


def _no_lines() -> tuple[Ints, Ints]:
    return np.empty((0, len(_DEPTHS)), dtype=np.int64), np.empty(0, dtype=np.int64)


def _lines(mesh: TaggedMesh, owner: Ints, thick: Floats) -> tuple[Ints, Ints]:
    """Lines straight through a part, from a facet to one that looks the other way."""
    rule, _ = tet_rule()
    middles = mesh.points_mm[mesh.skin_facets].mean(axis=1)
    found, starts = ([none] for none in _no_lines())
    for part in range(len(mesh.parts)):
        mine, inside = np.flatnonzero(owner == part), np.flatnonzero(mesh.part_of_tet == part)
        if not len(mine):
            continue
        normals, across = mesh.facet_normals[mine], thick[part]
        away, other = cKDTree(middles[mine]).query(middles[mine] - across * normals)
        facing = np.einsum("fd,fd->f", normals, normals[other]) < -0.9
        good = facing & (away < 0.6 * across)
        if not good.any():
            continue
        where = np.einsum("qk,tkd->tqd", rule, mesh.points_mm[mesh.tets[inside]]).reshape(-1, 3)
        tree = cKDTree(where)
        near = [
            tree.query(middles[mine[good]] - depth * across * normals[good])[1] for depth in _DEPTHS
        ]
        near_points = np.stack(near, axis=1)
        found.append(inside[near_points // 4] * 4 + near_points % 4)
        starts.append(mine[good])
    return np.concatenate(found), np.concatenate(starts)


def read(skin: Skin, response: Response) -> Reading:
    """Read one step's response on the skin and through the thickness."""
    steel = skin.steel
    part_of_tet = steel.model.mesh.part_of_tet
    amount = response.plastic.amount
    fresh = steel.table.stress_mpa[part_of_tet, 0][:, None]
    e_mpa = np.array([one.e_mpa for one in steel.model.steels])[part_of_tet][:, None]
    limit = yield_stress_mpa(steel, amount)
    past = np.where(
        amount > 0.0, amount * e_mpa / fresh, von_mises_mpa(response.stress_mpa) / limit - 1.0
    )
    strains = past * fresh / e_mpa
    if skin.fold:
        amount, past, strains = (skin.fold.at_points(value) for value in (amount, past, strains))
    behind = skin.mesh.skin_tet
    strain = np.maximum(np.einsum("fq,fq->f", skin.weights, amount[behind]), 0.0)
    ahead = _smoothed(skin, np.einsum("fvq,fq->fv", skin.corners, strains[behind]))
    on_skin = np.einsum("fq,fq->f", skin.weights, past[behind])
    through = past.ravel()[skin.lines].min(axis=1) if len(skin.lines) else np.empty(0)
    return Reading(strain, ahead, on_skin, through)


def _smoothed(skin: Skin, value: Floats) -> Floats:
    """(f, 3) the mean, by area, of what the facets of a face that meet at a corner say there."""
    weight = np.repeat(skin.mesh.facet_areas_mm2, 3)
    corner = skin.corner_of.ravel()
    mean = np.bincount(corner, weight * value.ravel()) / np.bincount(corner, weight)
    return np.asarray(mean[skin.corner_of])


def largest_patch_mm2(skin: Skin, hot: Bools) -> float:
    """Area of the largest connected patch of hot facets (f,)."""
    return float(patches(skin.near, hot)[1].max())


def first(
    skin: Skin,
    values: list[Floats],
    force_n: list[float],
    travel_mm: list[float],
    level: float,
    area_mm2: float | Floats,
    within_faces: bool,
    looked_at: Bools,
) -> Mark | None:
    """Where ``values`` (f,) of the steps first reach ``level`` over a connected ``area_mm2``.

    With values (f, 3) at their corners, facets count as far as they are past the level.
    ``area_mm2`` may differ from facet to facet. Values are taken straight between steps.
    """
    mesh = skin.mesh
    needed = np.broadcast_to(np.asarray(area_mm2, dtype=np.float64), (len(skin.seen),))

    def covered(value: Floats) -> int:
        """A facet in the midst of the patch that is largest for its need, or -1."""
        hot = (value.reshape(len(value), -1).max(axis=1) >= level) & looked_at
        if not hot.any():
            return -1
        if value.ndim == 1:
            label, area = patches(skin.near, hot, within_faces)
        else:
            label, area = linear_patches(skin.near, value, level, looked_at)
        # Within one face the need is one; across faces it is one everywhere.
        share = area[label] / needed * hot
        best = int(np.argmax(share))
        if share[best] < 1.0:
            return -1
        return middle_of(skin.near, np.flatnonzero((label == label[best]) & hot))

    for step in range(1, len(values)):
        at_end = covered(values[step])
        if at_end < 0:
            continue
        low, high, where = 0.0, 1.0, at_end
        for _ in range(_BISECTIONS):
            share = (low + high) / 2.0
            place = covered((1.0 - share) * values[step - 1] + share * values[step])
            if place >= 0:
                high, where = share, place
            else:
                low = share
        facet_points = mesh.points_mm[mesh.skin_facets[where]].mean(axis=0)
        part = mesh.parts[mesh.part_of_tet[mesh.skin_tet[where]]].name
        return Mark(
            force_n[step - 1] + high * (force_n[step] - force_n[step - 1]),
            travel_mm[step - 1] + high * (travel_mm[step] - travel_mm[step - 1]),
            part,
            tuple(float(c) for c in facet_points),
        )
    return None


@dataclass(frozen=True)
class SkinMarks:
    """Where yielding first starts, goes through a part, and shows; None where it never does.

    The fields are those of ``fea.curve.PressCurve`` of the same names.
    """

    starts: Mark | None
    through: Mark | None
    faint: Mark | None
    plain: Mark | None


def skin_marks(
    skin: Skin, readings: list[Reading], force_n: list[float], travel_mm: list[float]
) -> SkinMarks:
    """The marks of a run whose ``readings`` follow an unloaded block; forces start with zero."""
    every = [unloaded(skin), *readings]
    everywhere = np.ones(len(skin.seen), dtype=bool)
    past = [reading.past for reading in every]
    through = []
    for reading in every:
        whole = np.full(len(skin.seen), -1.0)
        whole[skin.line_facet] = reading.through
        through.append(whole)
    ahead = [reading.ahead for reading in every]
    steps = (force_n, travel_mm)
    return SkinMarks(
        starts=first(skin, past, *steps, 0.0, skin.disc_mm2, True, everywhere),
        through=first(skin, through, *steps, 0.0, skin.disc_mm2, True, everywhere),
        faint=first(skin, ahead, *steps, FAINT, PATCH_MM2, False, skin.seen),
        plain=first(skin, ahead, *steps, PLAIN, PATCH_MM2, False, skin.seen),
    )


def unloaded(skin: Skin) -> Reading:
    """Steel before any load: a whole yield strain short of yield."""
    steel, count = skin.steel, len(skin.seen)
    part = skin.mesh.part_of_tet[skin.mesh.skin_tet]
    e_mpa = np.array([one.e_mpa for one in steel.model.steels])
    ahead = -steel.table.stress_mpa[part, 0] / e_mpa[part]
    by_corner = np.repeat(ahead[:, None], 3, axis=1)
    return Reading(np.zeros(count), by_corner, np.full(count, -1.0), np.full(len(skin.lines), -1.0))


def shown(skin: Skin, reading: Reading, level: float) -> bool:
    """Whether plastic strain of ``level`` covers a patch that can be seen."""
    return bool(linear_patches(skin.near, reading.ahead, level, skin.seen)[1].max() >= PATCH_MM2)


def hottest(skin: Skin, strain: Floats) -> float:
    """Plastic strain (f,) that the hottest ``PATCH_MM2`` of skin seen exceeds."""
    area = skin.mesh.facet_areas_mm2 * skin.seen
    order = np.argsort(-np.where(skin.seen, strain, -1.0), kind="stable")
    place = int(np.searchsorted(np.cumsum(area[order]), PATCH_MM2))
    return float(max(strain[order[min(place, len(order) - 1)]], 0.0))
