"""The skin of a body as triangles with their parts, and the lines that outline it."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from fea.mesh import Floats, Ints, TaggedMesh

_SHARP_COS = float(np.cos(np.radians(35.0)))
_TET_FACES = np.array([(1, 2, 3), (0, 3, 2), (0, 1, 3), (0, 2, 1)])
_MORTON_BITS = 10


@dataclass(frozen=True, eq=False)
class Surface:
    """Triangles ordered by part and by place, that neighbours stand close in the file.

    Shapes: n points, t triangles, e lines.

    points_mm  (n, 3) coordinates, numbered in the order in which triangles use them
    origin     (n,) number of each point in the body it was taken from
    triangles  (t, 3) point numbers
    part       (t,) index of each triangle's part, rising
    lines      (e, 2) point numbers: sharp edges, and where one part meets another
    """

    points_mm: Floats
    origin: Ints
    triangles: Ints
    part: Ints
    lines: Ints


def skin_of_tets(tets: Ints, part_of_tet: Ints) -> tuple[Ints, Ints]:
    """Outer triangles (t, 3) of tetrahedra (m, 4) and the part (t,) behind each."""
    faces = np.asarray(tets)[:, _TET_FACES].reshape(-1, 3)
    ordered = np.sort(faces, axis=1).astype(np.int64)
    count = int(ordered.max()) + 1
    keys = (ordered[:, 0] * count + ordered[:, 1]) * count + ordered[:, 2]
    _, first, times = np.unique(keys, return_index=True, return_counts=True)
    outer = np.sort(first[times == 1])
    return faces[outer].astype(np.int64), np.asarray(part_of_tet)[outer // 4].astype(np.int64)


def surface_of_mesh(mesh: TaggedMesh) -> Surface:
    """The skin of a mesh of a block."""
    return surface(mesh.points_mm, mesh.skin_facets, mesh.part_of_tet[mesh.skin_tet])


def surface(points_mm: Floats, triangles: Ints, part: Ints) -> Surface:
    """Order triangles (t, 3) on points (n, 3) with parts (t,), and find their outline."""
    centres = points_mm[triangles].mean(axis=1)
    order = np.lexsort((_morton(centres), part))
    triangles, part = triangles[order], part[order]
    used, first, inverse = np.unique(triangles, return_index=True, return_inverse=True)
    rank = np.empty(len(used), dtype=np.int64)
    by_use = np.argsort(first, kind="stable")
    rank[by_use] = np.arange(len(used))
    numbered = rank[inverse.reshape(-1, 3)]
    origin = used[by_use]
    return Surface(
        points_mm[origin], origin, numbered, part, _outline(points_mm[origin], numbered, part)
    )


def thinned(whole: Surface, cell_mm: float) -> Surface:
    """The surface with one point left in each cube of ``cell_mm``, its outline untouched.

    Points that stay keep their place, and what is known there.
    """
    cell = np.floor((whole.points_mm - whole.points_mm.min(axis=0)) / cell_mm).astype(np.int64)
    wide = cell.max(axis=0) + 1
    group = (cell[:, 0] * wide[1] + cell[:, 1]) * wide[2] + cell[:, 2]
    # However thin a part is, its faces are never joined.
    face = _face_of_point(whole)
    group = group * (int(face.max()) + 1) + face
    fixed = np.unique(whole.lines)
    group[fixed] = group.max() + 1 + np.arange(len(fixed))
    _, first, inverse = np.unique(group, return_index=True, return_inverse=True)
    triangles = first[inverse][whole.triangles]
    a, b, c = triangles.T
    kept = (a != b) & (b != c) & (c != a)
    found = surface(whole.points_mm, triangles[kept], whole.part[kept])
    # The outline as it was: coarser triangles bend more, where nothing is sharp.
    number = np.full(len(whole.points_mm), -1)
    number[found.origin] = np.arange(len(found.origin))
    lines = number[whole.lines]
    return Surface(
        points_mm=found.points_mm,
        origin=whole.origin[found.origin],
        triangles=found.triangles,
        part=found.part,
        lines=lines[(lines >= 0).all(axis=1)],
    )


def _face_of_point(whole: Surface) -> Ints:
    """(n,) number of the smooth face each point lies in; a point of the outline lies in any."""
    count = len(whole.points_mm)
    ends, owner = _edges(whole.triangles)
    keys = ends[:, 0] * count + ends[:, 1]
    inside = ~np.isin(keys, whole.lines[:, 0] * count + whole.lines[:, 1])
    order = np.argsort(keys[inside], kind="stable")
    pairs = owner[inside][order].reshape(-1, 2)
    links = coo_matrix(
        (np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(whole.triangles),) * 2
    )
    face = connected_components(links, directed=False)[1]
    found = np.zeros(count, dtype=np.int64)
    found[whole.triangles.ravel()] = np.repeat(face, 3)
    return found


def _edges(triangles: Ints) -> tuple[Ints, Ints]:
    """Ends (3 t, 2) of every triangle's edges, the lower number first, and the triangle (3 t,)."""
    ends = np.sort(triangles[:, [(0, 1), (1, 2), (2, 0)]].reshape(-1, 2), axis=1)
    return ends, np.arange(len(ends)) // 3


def _morton(points_mm: Floats) -> Ints:
    """Place (t,) of each point along a curve that keeps neighbours together."""
    low = points_mm.min(axis=0)
    span = max(float(np.ptp(points_mm, axis=0).max()), 1e-12)
    cell = ((points_mm - low) / span * (2**_MORTON_BITS - 1)).astype(np.int64)
    key = np.zeros(len(points_mm), dtype=np.int64)
    for bit in range(_MORTON_BITS):
        for axis in range(3):
            key |= ((cell[:, axis] >> bit) & 1) << (3 * bit + axis)
    return key


def _outline(points_mm: Floats, triangles: Ints, part: Ints) -> Ints:
    """Edges (e, 2) at which the surface bends sharply, changes part, or ends."""
    a, b, c = (points_mm[triangles[:, i]] for i in range(3))
    cross = np.cross(b - a, c - a)
    normals = cross / np.maximum(np.linalg.norm(cross, axis=1, keepdims=True), 1e-300)
    ends, owner = _edges(triangles)
    keys = ends[:, 0] * (int(triangles.max()) + 1) + ends[:, 1]
    order = np.argsort(keys, kind="stable")
    _, start, times = np.unique(keys[order], return_index=True, return_counts=True)
    left, right = owner[order[start]], owner[order[start + np.minimum(1, times - 1)]]
    bent = np.einsum("ij,ij->i", normals[left], normals[right]) < _SHARP_COS
    drawn = (times != 2) | bent | (part[left] != part[right])
    return np.asarray(ends[order[start[drawn]]])
