"""Flat tetrahedra made fuller by sliding their corners within the faces and lines they lie on.

Between the two sides of a thin rib the mesher now and then leaves four corners nearly in one plane.
Two such tetrahedra in sixteen thousand make the solver take four times the rounds.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from fea.mesh import Floats, Ints, TaggedMesh

FULL_ENOUGH = 0.1
"""Tetrahedra below this ``fullness`` are worked on."""

_SWEEPS = 4
_FIRST_STEP = 0.3
_HALVINGS = 5
_SAME = 1e-6
_TRIANGLES = np.array([(1, 2, 3), (0, 2, 3), (0, 1, 3), (0, 1, 2)])
_EDGES = np.array([(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)])


def fullness(points_mm: Floats, tets: Ints) -> Floats:
    """(m,) mean ratio 12 (3 V)^⅔ / Σ edge²: 1 for a regular tetrahedron, 0 for a flat one.

    Negative where inside out. Liu & Joe, *BIT* 34, 1994 (from memory).
    """
    corner = points_mm[tets]
    a, b, c = (corner[:, i] - corner[:, 0] for i in (1, 2, 3))
    volume = np.einsum("ij,ij->i", np.cross(a, b), c) / 6.0
    edge = corner[:, _EDGES[:, 0]] - corner[:, _EDGES[:, 1]]
    squares = np.einsum("mei,mei->m", edge, edge)
    return np.asarray(12.0 * np.sign(volume) * np.abs(3.0 * volume) ** (2.0 / 3.0) / squares)


def without_slivers(mesh: TaggedMesh) -> TaggedMesh:
    """The same mesh with corners of flat tetrahedra moved; every face and line stays what it was.

    Nothing that was full enough becomes flat. What cannot be helped by moving corners stays.
    """
    points = mesh.points_mm.copy()
    for _ in range(_SWEEPS):
        share = fullness(points, mesh.tets)
        flat = np.flatnonzero(share < FULL_ENOUGH)
        before = share[flat]
        for tet in flat[np.argsort(before, kind="stable")]:
            for corner in mesh.tets[tet]:
                _slide(mesh, points, int(corner))
        if not len(flat) or np.all(fullness(points, mesh.tets[flat]) <= before):
            break
    return replace(mesh, points_mm=points)


def _slide(mesh: TaggedMesh, points: Floats, corner: int) -> None:
    """Move one corner to where the flattest tetrahedron around it is fullest."""
    around = np.flatnonzero((mesh.tets == corner).any(axis=1))
    tets = mesh.tets[around]
    ways = _ways(mesh, points, corner, around)
    if not len(ways):
        return
    edges = points[tets[:, _EDGES[:, 0]]] - points[tets[:, _EDGES[:, 1]]]
    step = _FIRST_STEP * float(np.median(np.linalg.norm(edges, axis=2)))
    best = float(fullness(points, tets).min())
    for _ in range(_HALVINGS):
        found = None
        for way in ways:
            for shift in (step * way, -step * way):
                points[corner] += shift
                share = float(fullness(points, tets).min())
                points[corner] -= shift
                if share > best:
                    best, found = share, shift
        if found is None:
            step /= 2.0
        else:
            points[corner] += found


def _ways(mesh: TaggedMesh, points: Floats, corner: int, around: Ints) -> Floats:
    """(k, 3) directions along which a corner may move: three inside, two on a plane, one on a line.

    On a cylinder only its axis is left, since the normals around the corner differ.
    """
    rows = []
    sharing: dict[int, list[tuple[int, ...]]] = {}
    for facet, label in _facets(mesh, corner, around):
        a, b, c = points[facet]
        normal = np.cross(b - a, c - a)
        rows.append(normal[None] / np.linalg.norm(normal))
        for other in facet[facet != corner]:
            sharing.setdefault(int(other), []).append(label)
    for other, labels in sharing.items():
        if len(labels) != 2 or labels[0] != labels[1]:
            along = points[other] - points[corner]
            along /= np.linalg.norm(along)
            rows.append(np.eye(3) - np.outer(along, along))
    if not rows:
        return np.eye(3)
    _, sizes, ways = np.linalg.svd(np.concatenate(rows), full_matrices=True)
    rank = int((sizes > _SAME).sum())
    return np.asarray(ways[rank:])


def _facets(mesh: TaggedMesh, corner: int, around: Ints) -> Iterator[tuple[Ints, tuple[int, ...]]]:
    """Facets at a corner on the skin or between two parts, each with a label of what it is of."""
    skin = np.flatnonzero((mesh.skin_facets == corner).any(axis=1))
    for facet in skin:
        part = int(mesh.part_of_tet[mesh.skin_tet[facet]])
        yield mesh.skin_facets[facet], (int(mesh.face_of_skin[facet]), part)
    seen: dict[tuple[int, ...], int] = {}
    for tet in around:
        part = int(mesh.part_of_tet[tet])
        for triangle in np.sort(mesh.tets[tet][_TRIANGLES], axis=1):
            key = tuple(triangle.tolist())
            other = seen.setdefault(key, part)
            if other != part:
                yield triangle, (-1, *sorted((part, other)))
