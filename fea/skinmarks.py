"""Where yielding has got to on the skin and through the thickness, step by step."""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from fea.curve import Mark
from fea.elasticity import von_mises_mpa
from fea.mesh import Floats, Ints
from fea.plasticity import Material, Response, yield_stress_mpa
from fea.space import tet_rule

_DEPTHS = (0.1, 0.3, 0.5, 0.7, 0.9)
_BISECTIONS = 14


@dataclass(frozen=True, eq=False)
class Skin:
    """The skin prepared for marks.

    weights (f, 4) takes the four points behind a facet to its middle; left, right (e,) are
    neighbouring facets; seen (f,) those that can be looked at; lines (l, 5) the points on a line
    through the thickness and line_facet (l,) the facet it starts from; disc_mm2 (f,) the area of
    a disc of half the local thickness, at most half its face.
    """

    steel: Material
    weights: Floats
    left: Ints
    right: Ints
    seen: NDArray[np.bool_]
    lines: Ints
    line_facet: Ints
    disc_mm2: Floats


@dataclass(frozen=True, eq=False)
class Reading:
    """One step: plastic strain (f,), and how far past yield skin (f,) and lines (l,) are.

    ahead (f,) is plastic strain too, but short of yield it is the negative strain still to go, so
    that it can be followed between steps.
    Past yield is stress over yield less one before, and plastic strain over the yield strain after.
    """

    strain: Floats
    ahead: Floats
    past: Floats
    through: Floats


def skin_of(steel: Material, seen: NDArray[np.bool_]) -> Skin:
    """Prepare the skin of a model; ``seen`` (f,) says which facets can be looked at."""
    mesh = steel.model.mesh
    points, _ = tet_rule()
    tets = mesh.tets[mesh.skin_tet]
    on_facet = (tets[:, :, None] == mesh.skin_facets[:, None, :]).any(axis=2)
    weights = (on_facet / 3.0) @ np.linalg.inv(points)
    edges = np.sort(mesh.skin_facets[:, [(0, 1), (1, 2), (2, 0)]], axis=2).reshape(-1, 2)
    keys = edges[:, 0] * len(mesh.points_mm) + edges[:, 1]
    order = np.argsort(keys, kind="stable")
    same = np.flatnonzero(keys[order][1:] == keys[order][:-1])
    left, right = order[same] // 3, order[same + 1] // 3
    thick = np.array([part.thickness_mm for part in mesh.parts])
    owner = mesh.part_of_tet[mesh.skin_tet]
    face_mm2 = np.bincount(mesh.face_of_skin, mesh.facet_areas_mm2, minlength=len(mesh.faces))
    disc = np.minimum(np.pi * (thick[owner] / 2.0) ** 2, face_mm2[mesh.face_of_skin] / 2.0)
    lines, line_facet = _lines(steel, owner, thick)
    return Skin(steel, weights, left, right, seen, lines, line_facet, disc)


def _lines(steel: Material, owner: Ints, thick: Floats) -> tuple[Ints, Ints]:
    """Lines straight through a part, from a facet to one that looks the other way."""
    mesh = steel.model.mesh
    rule, _ = tet_rule()
    middles = mesh.points_mm[mesh.skin_facets].mean(axis=1)
    found, starts = [np.empty((0, len(_DEPTHS)), dtype=np.int64)], [np.empty(0, dtype=np.int64)]
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
    mesh = steel.model.mesh
    amount = response.plastic.amount
    fresh = steel.table.stress_mpa[mesh.part_of_tet, 0][:, None]
    e_mpa = np.array([one.e_mpa for one in steel.model.steels])[mesh.part_of_tet][:, None]
    limit = yield_stress_mpa(steel, amount)
    past = np.where(
        amount > 0.0, amount * e_mpa / fresh, von_mises_mpa(response.stress_mpa) / limit - 1.0
    )
    behind = mesh.skin_tet
    strain = np.maximum(np.einsum("fq,fq->f", skin.weights, amount[behind]), 0.0)
    ahead = np.einsum("fq,fq->f", skin.weights, (past * fresh / e_mpa)[behind])
    on_skin = np.einsum("fq,fq->f", skin.weights, past[behind])
    through = past.ravel()[skin.lines].min(axis=1) if len(skin.lines) else np.empty(0)
    return Reading(strain, ahead, on_skin, through)


def largest_patch_mm2(skin: Skin, hot: NDArray[np.bool_]) -> float:
    """Area of the largest connected patch of hot facets (f,)."""
    _, area = _patches(skin, hot, within_faces=False)
    return float(area.max())


def _patches(skin: Skin, hot: NDArray[np.bool_], within_faces: bool) -> tuple[Ints, Floats]:
    """Connected patches of hot facets: label (f,) and area in mm² of each label's hot part."""
    mesh = skin.steel.model.mesh
    joined = hot[skin.left] & hot[skin.right]
    if within_faces:
        joined &= mesh.face_of_skin[skin.left] == mesh.face_of_skin[skin.right]
    count = len(hot)
    graph = sp.coo_array(
        (np.ones(joined.sum()), (skin.left[joined], skin.right[joined])), shape=(count, count)
    )
    label = connected_components(graph, directed=False)[1]
    area = np.bincount(label, mesh.facet_areas_mm2 * hot).astype(np.float64)
    return label.astype(np.int64), area


def first(
    skin: Skin,
    values: list[Floats],
    force_n: list[float],
    travel_mm: list[float],
    level: float,
    area_mm2: float | Floats,
    within_faces: bool,
    looked_at: NDArray[np.bool_],
) -> Mark | None:
    """Where ``values`` (f,) of the steps first reach ``level`` over a connected ``area_mm2``.

    ``area_mm2`` may differ from facet to facet. Values are taken straight between steps.
    """
    mesh = skin.steel.model.mesh
    needed = np.broadcast_to(np.asarray(area_mm2, dtype=np.float64), (len(skin.seen),))

    def covered(value: Floats) -> int:
        """A facet in the midst of the patch that is largest for its need, or -1."""
        hot = (value >= level) & looked_at
        if not hot.any():
            return -1
        label, area = _patches(skin, hot, within_faces)
        # Within one face the need is one; across faces it is one everywhere.
        share = area[label] / needed * hot
        best = int(np.argmax(share))
        if share[best] < 1.0:
            return -1
        members = np.flatnonzero((label == label[best]) & hot)
        middles = mesh.points_mm[mesh.skin_facets[members]].mean(axis=1)
        weight = mesh.facet_areas_mm2[members]
        centre = weight @ middles / weight.sum()
        return int(members[np.argmin(np.linalg.norm(middles - centre, axis=1))])

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
